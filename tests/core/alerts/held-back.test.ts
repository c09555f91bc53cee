import { describe, expect, it } from 'vitest';
import { found, Story } from './story.ts';

/** A wire is broken: whatever the value seems to do is explained by it. */
const brokenWire = found('happening', 'now', {
  cause: 'open-circuit',
  explains: ['silence', 'lid-open-hot', 'heat-lost', 'overshoot', 'stalled-ramp'],
});
const openLid = found('happening', 'now', { explains: ['heat-lost', 'stalled-ramp'], replaces: ['heat-lost'] });
const flameOut = found('happening', 'now', { explains: ['stalled-ramp'] });
const stall = found('happening', 'soon');

describe('an alert that another explains better (requirements A7 and A8)', () => {
  it('does not begin while its explanation stands: one fault is one call', () => {
    const story = new Story().says('lid-open-hot', openLid).says('stalled-ramp', stall).passes(600);
    expect(story.calls()).toEqual(['11 lid-open-hot happening']);
  });

  it('waits for an explanation that is still forming, a minute more than for itself and not longer', () => {
    const slow = { ...openLid, onDelayS: 40 };
    expect(new Story().says('heat-lost', flameOut).says('lid-open-hot', slow).passes(300).calls()).toEqual([
      '41 lid-open-hot happening',
    ]);
    const never = { ...openLid, onDelayS: 500 };
    expect(new Story().says('heat-lost', flameOut).says('lid-open-hot', never).passes(300).calls()).toEqual([
      '71 heat-lost happening',
    ]);
    const pressing = { ...flameOut, phase: 'foreseen', leadS: 60 } as const;
    expect(new Story().says('heat-lost', pressing).says('lid-open-hot', never).passes(300).calls()).toEqual([
      '31 heat-lost foreseen',
    ]);
  });

  it('does not wait for one of which nobody is sure', () => {
    const story = new Story()
      .says('heat-lost', flameOut)
      .says('lid-open-hot', { ...openLid, onDelayS: 500 })
      .passes(5);
    expect(story.says('lid-open-hot', 'unsure').passes(60).calls()).toEqual(['11 heat-lost happening']);
  });

  it('must stand anew once the explanation is over: what it left behind dies away meanwhile', () => {
    const story = new Story().says('lid-open-hot', openLid).says('stalled-ramp', stall).passes(60);
    story.says('lid-open-hot', undefined).passes(25).says('stalled-ramp', undefined).passes(60);
    expect(story.calls()).toEqual(['11 lid-open-hot happening']);
    story.says('stalled-ramp', stall).passes(60);
    expect(story.calls()).toHaveLength(2);
  });

  it('told before, stays, is listed under its cause, makes no sound and does not turn over', () => {
    const story = new Story().finds(found('happening'), 30);
    story.says('sensor-fault', [{ ...brokenWire, sensor: 'shelf' }]).finds('unknown', 1800);
    const wire = story.of('sensor-fault')?.id;
    expect(story.of('overshoot')).toMatchObject({ phase: 'happening', heldBackBy: wire, unknown: true });
    // Readings that seem well do not clear it as long as they cannot be believed.
    story.finds(undefined, 1800);
    expect(story.of('overshoot')).toMatchObject({ phase: 'happening', heldBackBy: wire });
    expect(story.calls()).toEqual(['11 overshoot happening', '41 sensor-fault happening']);
    story.says('sensor-fault', []).passes(21);
    expect(story.of('sensor-fault')).toMatchObject({ phase: 'over' });
    expect(story.of('overshoot')).toMatchObject({ phase: 'happening', unknown: true });
    expect(story.of('overshoot')?.heldBackBy).toBeUndefined();
    story.passes(21);
    expect(story.of('overshoot')).toMatchObject({ phase: 'over', life: 'over-unseen' });
    expect(story.calls()).toHaveLength(2);
  });

  it('and found again afterwards, calls for itself again', () => {
    const story = new Story().finds(found('happening'), 30).says('sensor-fault', brokenWire).finds('unknown', 300);
    story.finds(found('happening'), 60);
    expect(story.of('overshoot')?.heldBackBy).toBe(story.of('sensor-fault')?.id);
    story.says('sensor-fault', undefined).passes(40);
    expect(story.calls().at(-1)).toBe('411 overshoot happening');
  });

  it('is told all the same where it is more urgent than what explains it', () => {
    const slipped = found('happening', 'soon', { cause: 'slipped', explains: ['overshoot', 'stalled-ramp'] });
    const story = new Story().says('sensor-fault', slipped).says('stalled-ramp', stall).passes(60);
    story.finds(found('foreseen', 'now'), 60);
    expect(story.calls()).toEqual(['11 sensor-fault happening', '71 overshoot foreseen']);
    expect(story.of('overshoot')?.heldBackBy).toBeUndefined();
  });

  it('and gets more urgent than its cause, calls, though it was held back', () => {
    const slipped = found('happening', 'soon', { cause: 'slipped', explains: ['overshoot'] });
    const story = new Story().finds(found('foreseen', 'soon'), 30).says('sensor-fault', slipped).passes(60);
    expect(story.of('overshoot')?.heldBackBy).toBe(story.of('sensor-fault')?.id);
    story.finds(found('happening', 'soon'), 30);
    expect(story.of('overshoot')).toMatchObject({ phase: 'happening', heldBackBy: story.of('sensor-fault')?.id });
    story.finds(found('happening', 'now'), 30);
    expect(story.of('overshoot')?.heldBackBy).toBeUndefined();
    expect(story.calls().at(-1)).toBe('121 overshoot happening');
  });

  it('does not call again by its own clock while it is held back, but does so afterwards', () => {
    const story = new Story().finds(found('happening'), 30).sees().says('sensor-fault', brokenWire).passes(1800);
    expect(story.calls()).toHaveLength(2);
    story.says('sensor-fault', undefined).passes(30);
    expect(story.calls().at(-1)).toBe('1852 overshoot happening');
  });

  it('is listed under the first cause of a chain', () => {
    const story = new Story().says('stalled-ramp', stall).passes(30).says('heat-lost', flameOut).passes(90);
    expect(story.of('stalled-ramp')?.heldBackBy).toBe(story.of('heat-lost')?.id);
    story.says('lid-open-hot', openLid).passes(30);
    const lid = story.of('lid-open-hot')?.id;
    expect(story.of('heat-lost')?.heldBackBy).toBe(lid);
    expect(story.of('stalled-ramp')?.heldBackBy).toBe(lid);
  });

  it('is not explained by what befell another sensor', () => {
    const ofTop = { ...brokenWire, sensor: 'top' };
    const story = new Story().says('sensor-fault', [ofTop]).passes(30);
    story.says('lid-open-hot', [
      found('happening', 'now', { sensor: 'top' }),
      found('happening', 'now', { sensor: 'b' }),
    ]);
    story.passes(60);
    expect(story.said.map((e) => `${e.alert} ${e.sensor}`)).toEqual(['sensor-fault top', 'lid-open-hot b']);
  });

  it('is not explained by a kind that is switched off', () => {
    const story = new Story().switchesOff('lid-open-hot').says('lid-open-hot', openLid).says('stalled-ramp', stall);
    expect(story.passes(60).calls()).toEqual(['11 stalled-ramp happening']);
  });
});

describe('an alert that was a mistake', () => {
  it('told up to a minute before, ends with a sentence as the better explanation calls', () => {
    const story = new Story().says('heat-lost', flameOut).passes(40).says('lid-open-hot', openLid).passes(200);
    expect(story.said.map((e) => `${e.atMs / 1000} ${e.alert} ${e.phase} ${e.life}`)).toEqual([
      '11 heat-lost happening calling',
      '51 lid-open-hot happening calling',
      '51 heat-lost over over-unseen',
    ]);
    expect(story.last()).toMatchObject({ message: 'It was the door, not the flame.', heldBackBy: 'a2' });
    // One press is enough for both.
    story.sees('a2');
    expect(story.alerts.live.map((a) => a.rule)).toEqual(['lid-open-hot']);
    expect(story.last()).toMatchObject({ alert: 'heat-lost', life: 'gone', seenBy: 'painter' });
  });

  it('that somebody had seen is gone at once', () => {
    const story = new Story().says('heat-lost', flameOut).passes(40).sees().says('lid-open-hot', openLid).passes(20);
    expect(story.last()).toMatchObject({ alert: 'heat-lost', phase: 'over', life: 'gone' });
  });

  it('told long before is held back instead, and so is one that is more urgent than its explanation', () => {
    const late = new Story().says('heat-lost', flameOut).passes(90).says('lid-open-hot', openLid).passes(30);
    expect(late.of('heat-lost')).toMatchObject({ phase: 'happening', heldBackBy: late.of('lid-open-hot')?.id });
    const urgent = new Story().says('heat-lost', flameOut).passes(40);
    urgent.says('lid-open-hot', { ...openLid, priority: 'soon' }).passes(30);
    expect(urgent.of('heat-lost')).toMatchObject({ phase: 'happening' });
    expect(urgent.said.filter((e) => e.phase === 'over')).toEqual([]);
    expect(urgent.of('heat-lost')?.heldBackBy).toBeUndefined();
  });
});

describe('a flood of alerts (requirement A9)', () => {
  const rules = Array.from({ length: 30 }, (_, i) => `sensor-${i}`);

  it('of thirty within a minute calls three times; the others are listed under the first', () => {
    const story = new Story({ onDelayS: 0 });
    for (let i = 0; i < 30; i++) {
      const upTo = rules.slice(0, i + 1).map((sensor) => found('happening', 'soon', { sensor }));
      story.says('sensor-fault', upTo).passes(2);
    }
    expect(story.calls()).toHaveLength(3);
    const listed = story.alerts.live.filter((a) => a.told?.heldBackBy === 'a1');
    expect(listed).toHaveLength(27);
  });

  it('never delays one of priority now', () => {
    const story = new Story({ onDelayS: 0 });
    const many = rules.map((sensor) => found('happening', 'soon', { sensor }));
    story.says('sensor-fault', many).passes(5).finds(found('foreseen', 'now'), 1);
    expect(story.calls().at(-1)).toBe('6 overshoot foreseen');
    // ... nor one that becomes so.
    const worse = many.map((one, i) => (i === 20 ? { ...one, priority: 'now' as const } : one));
    story.says('sensor-fault', worse).passes(1);
    expect(story.last()).toMatchObject({ sensor: 'sensor-20', life: 'calling' });
    expect(story.last().heldBackBy).toBeUndefined();
  });

  it('lets the others call, three in ten minutes, once the first is gone', () => {
    const story = new Story({ onDelayS: 0 });
    const some = rules.slice(0, 6).map((sensor) => found('happening', 'soon', { sensor }));
    story.says('sensor-fault', some).passes(700).says('sensor-fault', some.slice(1)).passes(60);
    expect(story.calls()).toHaveLength(6);
    expect(story.alerts.live.every((a) => a.told?.heldBackBy === undefined)).toBe(true);
  });
});

describe('an alert that needs a reset', () => {
  const latching = { needsReset: () => true };

  it('calls on after its fault is gone, until a person says that all is well', () => {
    const story = new Story(latching).finds(found('happening'), 30).finds(undefined, 3600);
    expect(story.of('overshoot')).toMatchObject({ phase: 'over', life: 'needs-reset' });
    story.sees();
    expect(story.of('overshoot')).toMatchObject({ phase: 'over', life: 'needs-reset', seenBy: 'painter' });
    const said = story.said.length;
    story.sees().resets();
    expect(story.said).toHaveLength(said + 1);
    expect(story.last()).toMatchObject({ life: 'gone', seenBy: 'painter' });
    expect(story.alerts.live).toEqual([]);
  });

  it('cannot be reset while its fault is still found', () => {
    const story = new Story(latching).finds(found('happening'), 30).resets();
    expect(story.of('overshoot')).toMatchObject({ phase: 'happening', life: 'calling' });
  });

  it('leaves as any other where it was only foreseen', () => {
    const story = new Story(latching).finds(found('foreseen'), 30).finds(undefined, 60);
    expect(story.of('overshoot')).toMatchObject({ life: 'over-unseen' });
  });

  it('seen while it happened, waits for the reset without a sound', () => {
    const story = new Story(latching).finds(found('happening'), 30).sees().finds(undefined, 60);
    expect(story.of('overshoot')).toMatchObject({ life: 'needs-reset', seenBy: 'painter' });
  });
});

describe('a kind that is switched off', () => {
  it('leaves the page with who did it and why, and does not come back', () => {
    const story = new Story()
      .finds(found('happening'), 30)
      .switchesOff('overshoot', 'the couple is in the wrong place');
    expect(story.last()).toMatchObject({ phase: 'over', life: 'gone', seenBy: 'painter' });
    expect(story.last().message).toBe('Switched off for this firing by painter: the couple is in the wrong place');
    expect(story.passes(900).alerts.live).toEqual([]);
    expect(story.alerts.switchedOff).toMatchObject([{ alert: 'overshoot', by: 'painter', sinceMs: 30_000 }]);
  });

  it('is judged afresh once it is switched on again', () => {
    const story = new Story().finds(found('happening'), 30).switchesOff('overshoot').switchesOff('overshoot');
    story.passes(60).switchesOn('overshoot').passes(60);
    expect(story.alerts.switchedOff).toEqual([]);
    expect(story.calls()).toEqual(['11 overshoot happening', '101 overshoot happening']);
  });

  it('does not take away what is over and not yet seen', () => {
    const story = new Story().finds(found('happening'), 30).finds(undefined, 60).switchesOff('overshoot');
    expect(story.of('overshoot')).toMatchObject({ life: 'over-unseen' });
  });
});
