/** What happens at the edges of the daemon: inputs lost and back, the record, the setup, the clock. */
import type { FiringEvent } from './events.ts';
import { NO_FORESIGHT } from './forecast/foresight.ts';
import type { EdgeStatus } from './inputs.ts';
import { type KilnSetup, rulingSensor } from './plan/kiln.ts';
import { changed, type FiringState } from './state.ts';
import { NO_PAIRS } from './tracking/couple-pairs.ts';
import { newSensorTrack } from './tracking/sensor-track.ts';
import { noticeClockSet } from './tracking/stamp-watch.ts';

/** Something happened at an edge of the daemon. */
export function notice(state: FiringState, news: EdgeStatus, said: FiringEvent[]): FiringState {
  const others = state.lostInputs.filter((i) => !('input' in news) || i.input !== news.input);
  switch (news.edge) {
    case 'input-lost':
      return changed(state, { lostInputs: [...others, { input: news.input, sentence: news.sentence }] });
    case 'input-back':
      return changed(state, { lostInputs: others });
    case 'restarted':
      said.push({ type: 'gap', fromMs: news.atMs - news.awayS * 1000, atMs: news.atMs, why: 'the daemon was away' });
      return changed(state, { lostInputs: [], heardSinceMs: news.atMs, sign: null });
    case 'record-lost':
      return changed(state, { recordLost: news.sentence });
    case 'record-back':
      // What waited in memory while the disk refused is written by now; only what found no room there is missing.
      if (news.missing > 0) {
        const why = `${news.missing} lines are missing from the record`;
        said.push({ type: 'gap', fromMs: news.atMs, atMs: news.atMs, why });
      }
      return changed(state, { recordLost: null });
    case 'setup-changed':
      return adoptSetup(state, news.kiln);
    case 'clock-set':
      return changed(state, { stamps: noticeClockSet(state.stamps, news.atMs, news.byS) });
  }
}

/** A sensor that is new starts without a past; one that is gone is no longer waited for. */
function adoptSetup(state: FiringState, kiln: KilnSetup): FiringState {
  const sensors = Object.fromEntries(
    kiln.sensors.map((s) => [s.name, state.sensors[s.name] ?? newSensorTrack(s.name)]),
  );
  const ruling = rulingSensor(kiln);
  // What was learned of one couple says nothing of another.
  const foresight = ruling === state.rulingSensor ? state.foresight : NO_FORESIGHT;
  const pairs = ruling === state.rulingSensor ? state.pairs : NO_PAIRS;
  return changed(state, { kiln, sensors, pairs, rulingSensor: ruling, foresight });
}
