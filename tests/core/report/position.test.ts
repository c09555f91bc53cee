import { describe, expect, it } from 'vitest';
import type { KilnSetup } from '../../../daemon/core/plan/kiln.ts';
import type { Schedule } from '../../../daemon/core/plan/schedule.ts';
import { idleSentence } from '../../../daemon/core/report/idle.ts';
import { atS, begin, curve, deed, type Fed, feed, kilnOf, lastPosition, line, matt, wait } from '../feeding.ts';

const plan: Schedule = {
  ...matt,
  segments: matt.segments.map((s, i) =>
    i === 2 ? { ...s, acts: [{ when: 'end' as const, do: 'gas off, damper after', callMinutes: 3 }] } : s,
  ),
};
const way = (s: number): number =>
  s < 12_750
    ? s < 6450
      ? 20 + s / 15
      : 450 + (s - 6450) / 30
    : s < 13_700
      ? 660
      : 20 + 640 * Math.exp(-(s - 13_700) / 7200);
const at = (seconds: number, kiln?: KilnSetup, schedule: Schedule | null = plan): Fed =>
  feed(begin(schedule, kiln), curve(0, seconds, way));
const sentence = (fed: Fed): string => lastPosition(fed).sentence;

describe('the first line of the page', () => {
  it('waits for the first reading', () => {
    expect(sentence(wait(begin(), 11))).toBe('Waiting for the first reading. All well.');
  });

  it('says of a kiln that nobody has lit yet that the plan begins with it', () => {
    expect(sentence(feed(begin(), line({ fromS: 0, toS: 600, fromC: 20, rateCPerH: 0 })))).toMatch(
      /^Not warming yet: 20\. The plan begins with the kiln\. All well\./,
    );
  });

  it('says on the way up where to, how far and until when', () => {
    expect(sentence(at(3600))).toMatch(
      /^Climbing to 450: 260 now, there about 10:4[78]\. All well\. Next: turn the valve for 120 °C\/h at 10:4[78]\.$/,
    );
  });

  it('counts a hold in whole minutes done', () => {
    expect(sentence(at(13_080))).toMatch(
      /^Hold at 660, 6 of 15 min\. All well\. Next: gas off, damper after at 12:46\.$/,
    );
  });

  it('calls the hand when it is due', () => {
    expect(sentence(at(13_500))).toMatch(/^Hold at 660, 1[23] of 15 min\. Come: gas off, damper after at 12:46\.$/);
  });

  it('keeps a cooling kiln shut until it may be cracked, then says so, then lets it be unloaded', () => {
    // 150 °C: 13 700 + 7200·ln(640/130) = 25 175 s, two minutes past four.
    expect(sentence(at(17_000))).toMatch(
      /^Cooling: \d+\. Keep the door shut until about 1(5:5|6:0)\d\. All well\. Next: crack the door about 1(5:5|6:0)\d\.$/,
    );
    expect(sentence(at(26_000))).toMatch(
      /^Cooling: 136\. The door may be cracked\. All well\. Next: unload about 1\d:\d\d\.$/,
    );
    expect(sentence(at(35_800))).toMatch(/^50: cool enough to unload\. All well\.$/);
  });

  it('is the alert itself where something must be done now', () => {
    const hot = feed(
      begin(plan),
      curve(0, 13_100, (s) => (s < 6450 ? 20 + s / 15 : 450 + (s - 6450) / 30)),
    );
    expect(sentence(hot)).toMatch(/^Too hot: 670/);
  });

  it('says where the firing is as well, where there is time', () => {
    const stalls = feed(begin(plan), [...curve(0, 5000, way), ...curve(5010, 7000, (s) => 353 + 0.3 * Math.sin(s))]);
    expect(sentence(stalls)).toMatch(
      /^Climbing to 450: 353 now(, there about \d\d:\d\d)?\. Not climbing: 353, the plan wants 450\./,
    );
  });

  it('tells a firing without a plan by its pace', () => {
    expect(sentence(at(3600, undefined, null))).toBe('Firing without a plan: 260, climbing 240 °C an hour. All well.');
  });

  it('writes the time that the clock on the workshop’s wall shows', () => {
    const there = (utcOffsetMinutes: number): string => sentence(at(3600, kilnOf({ utcOffsetMinutes })));
    expect(there(0)).toContain('there about 10:4');
    expect(there(60)).toContain('there about 11:4');
    expect(there(-300)).toContain('there about 05:4');
  });

  it('calls a lid a lid', () => {
    expect(sentence(at(17_000, kilnOf({ heat: 'electric', closure: 'lid' })))).toContain('Keep the lid shut');
  });
});

describe('the figures beside it', () => {
  it('show a hold by its own count and in band, side by side', () => {
    const position = lastPosition(at(13_140));
    expect(position).toMatchObject({
      segment: 2,
      segmentName: 'hold at 660',
      plannedC: 660,
      deviationC: 0,
      holdS: 900,
    });
    expect(position.holdDoneS).toBeGreaterThan(440);
    expect(position.holdInBandS).toBe(position.holdDoneS);
    expect(Math.abs((position.segmentEndsAtMs ?? 0) - atS(13_590))).toBeLessThan(11_000);
  });

  it('measure a climb against its plan', () => {
    const late = lastPosition(feed(begin(), line({ fromS: 0, toS: 3600, fromC: 20, rateCPerH: 210 })));
    expect(late).toMatchObject({ segment: 0, segmentName: 'up to 450 at 240 an hour', rateCPerH: 210 });
    expect(late.deviationC).toBeGreaterThan(-31);
    // The plan begins with the kiln's third degree, a minute late.
    expect(late.deviationC).toBeLessThan(-25);
  });

  it('leave out what nobody can say', () => {
    expect(lastPosition(at(3600, undefined, null))).toMatchObject({
      segment: null,
      segmentName: 'no plan',
      plannedC: null,
      deviationC: null,
      holdS: null,
      segmentEndsAtMs: null,
      planLine: [],
    });
    expect(lastPosition(at(3600)).crackAtMs).toBeNull();
  });
});

describe('a kiln that is not being fired', () => {
  it('says how warm it is, and what to do first', () => {
    expect(idleSentence(kilnOf(), 20.4, true)).toBe('No firing. The kiln is at 20. Choose a plan, then light it.');
    expect(idleSentence(kilnOf(), 20.4, false)).toBe('No firing. The kiln is at 20.');
    expect(idleSentence(kilnOf(), 310, true)).toBe('No firing. The kiln is at 310. Keep the door shut.');
    expect(idleSentence(kilnOf(), null, true)).toContain('Look at the cable');
  });
});

describe('what a person did', () => {
  it('stands in the record with who, when and at what temperature', () => {
    const fed = feed(at(3600), [
      deed(3605, { deed: 'act', what: 'valve', value: 'mark 3' }),
      deed(3606, { deed: 'note', text: 'A crack in the blue piece.' }),
    ]);
    expect(fed.events.filter((e) => e.type === 'act')).toMatchObject([
      { by: 'painter', deed: 'act', what: 'valve', value: 'mark 3', celsius: 260, atMs: atS(3605) },
      { by: 'painter', deed: 'note', what: 'A crack in the blue piece.', celsius: 260 },
    ]);
  });
});
