/** What can be amiss, by the names that stand in the record and on every wire; a page has the workshop's words for them. */
export type AlertKind =
  | 'overshoot'
  | 'stalled-ramp'
  | 'running-late'
  | 'heating-too-fast'
  | 'cooling-too-fast'
  | 'lid-open-hot'
  | 'heat-lost'
  | 'uncontrolled-heat'
  | 'hold-short'
  | 'hold-long'
  | 'sensor-fault'
  | 'sensors-disagree'
  | 'silence'
  | 'clock-trouble'
  | 'record-trouble';
