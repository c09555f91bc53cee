import { describe, expect, it } from 'vitest';
import {
  atS,
  begin,
  curve,
  deed,
  feed,
  kilnOf,
  line,
  matt,
  reading,
  START_MS,
  stagedAlerts,
  stagesOf,
  wait,
} from '../feeding.ts';

const toldAtS = (fed: Parameters<typeof stagedAlerts>[0]): number =>
  ((stagedAlerts(fed).find((a) => a.alert === 'silence')?.atMs ?? Number.NaN) - START_MS) / 1000;
const heardEvery = (everyS: number, untilS = 1200) =>
  feed(begin(), line({ fromS: 0, toS: untilS, fromC: 20, rateCPerH: 240, everyS }));

describe('no reading', () => {
  it.each([
    [0.5, 16],
    [1, 17],
    [5, 22],
    [10, 33],
    [30, 97],
  ])('for three samples or 15 s is told: readings every %d s, told after %d', (everyS, afterS) => {
    expect(toldAtS(wait(heardEvery(everyS), 2000)) - 1200).toBe(afterS);
  });

  it('is no alert where fifteen seconds of readings are lost on the way', () => {
    for (const everyS of [1, 2, 5]) {
      const later = line({ fromS: 1200 + everyS + 15, toS: 1800, fromC: 100, rateCPerH: 240, everyS });
      expect([everyS, stagesOf(feed(heardEvery(everyS), later))]).toEqual([everyS, []]);
    }
  });

  it('is told at the same age, whenever it stops', () => {
    for (const untilS of [601, 777, 1013]) expect(toldAtS(wait(heardEvery(1, untilS), 2000)) - untilS).toBe(17);
  });

  it('is no alert between readings every 30 s or every minute, from the first one on', () => {
    for (const everyS of [0.5, 1, 5, 15, 30, 60, 90]) {
      const fed = feed(begin(), line({ fromS: 0, toS: 5400, fromC: 20, rateCPerH: 240, everyS }));
      expect([everyS, stagesOf(fed)]).toEqual([everyS, []]);
    }
  });

  it('at all is told too, and the sooner where the kiln’s entry says how often to expect one', () => {
    expect(toldAtS(wait(begin(), 300))).toBe(126);
    expect(toldAtS(wait(begin(matt, kilnOf({ sampleS: 1 })), 300))).toBe(17);
  });

  it('at all is told after 15 s where the input is known to be lost', () => {
    const sentence = '/dev/kiln is not there. Plug the instrument in.';
    const lost = feed(begin(), [{ kind: 'edge', atMs: atS(1), edge: 'input-lost', input: 'rows', sentence }]);
    expect(toldAtS(wait(lost, 300))).toBe(16);
    expect(stagedAlerts(wait(lost, 300))[0]?.because).toContain(sentence);
  });

  it('says since when, what it was, and what to do', () => {
    const [alert] = stagedAlerts(wait(heardEvery(1), 1300));
    expect(alert).toMatchObject({
      priority: 'now',
      message: "No reading for 17 seconds. Assume it's still heating; go to it with the hand pyrometer.",
      because:
        'The last was 100 °C at 09:20. Nothing has come from the instrument since. Without readings nobody warns you.',
    });
  });

  it('gives the reason where an edge of the daemon knows it', () => {
    const lost = feed(heardEvery(1), [
      { kind: 'edge', atMs: atS(1201), edge: 'input-lost', input: 'rows', sentence: 'The cable is out.' },
    ]);
    expect(stagedAlerts(wait(lost, 1300))[0]?.because).toContain('The cable is out.');
  });

  it('is over soon after the kiln speaks again', () => {
    const again = feed(
      wait(heardEvery(1), 1300),
      line({ fromS: 1301, toS: 1310, fromC: 100, rateCPerH: 0, everyS: 1 }),
    );
    expect(stagesOf(again)).toEqual(['silence happening', 'silence over']);
  });

  it('is not what an instrument gives that answers without a temperature: its couple is broken', () => {
    const mute = feed(
      heardEvery(1),
      curve(1201, 1300, () => 0, 1).map((r) => ({ ...r, text: 'NaN' })),
    );
    expect(stagesOf(mute)).toEqual(['sensor-fault happening']);
    // Once it says nothing at all it is silent as well.
    expect(toldAtS(wait(mute, 1400)) - 1300).toBe(17);
    expect(mute.state.rejectedCount).toBe(100);
  });

  it('is not ended by what the broker kept from earlier', () => {
    const kept = feed(heardEvery(1), [{ ...reading(1240, 600), retained: true }]);
    expect(stagesOf(wait(kept, 1300))).toEqual(['silence happening']);
    expect(kept.events.find((e) => e.type === 'reading' && e.quality === 'late')).toMatchObject({ celsius: 600 });
    expect(kept.state.sensors.shelf?.peakC).toBe(100);
  });

  it('of the second couple is but a note: the plan goes by the first', () => {
    const two = kilnOf({
      sensors: [
        { name: 'shelf', letter: 'K', rules: true },
        { name: 'top', letter: 'K' },
      ],
    });
    const both = line({ fromS: 0, toS: 600, fromC: 20, rateCPerH: 240 }).flatMap((r) => [r, { ...r, channel: 'top' }]);
    const fed = feed(feed(begin(matt, two), both), line({ fromS: 610, toS: 700, fromC: 60, rateCPerH: 240 }));
    expect(stagedAlerts(fed)).toMatchObject([{ alert: 'silence', priority: 'note', sensor: 'top' }]);
    expect(stagedAlerts(fed)[0]?.message).toContain('of top');
    // Both silent are worse, and call again under the same id.
    const worse = wait(fed, 800);
    expect(worse.state.alerts.live.find((a) => a.rule === 'silence')?.told).toMatchObject({
      priority: 'now',
      sensor: 'shelf',
    });
    expect(worse.state.alertCounts).toEqual({ silence: 1 });
  });

  it('holds every alert of a value back, and keeps one that stood (requirement A8)', () => {
    const fed = wait(heardEvery(1), 5000);
    expect(stagesOf(fed)).toEqual(['silence happening']);
  });

  it('calls again ten minutes after it was seen', () => {
    const silent = wait(heardEvery(1), 1300);
    const id = stagedAlerts(silent)[0]?.id ?? '';
    const seen = feed(silent, [deed(1300, { deed: 'seen', alertId: id })]);
    const calls = wait(seen, 2600).events.filter(
      (e) => e.type === 'alert' && e.life === 'calling' && e.refresh !== true,
    );
    expect(calls.map((e) => (e.atMs - START_MS) / 1000)).toEqual([1217, 1900]);
  });
});
