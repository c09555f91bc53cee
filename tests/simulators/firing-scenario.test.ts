import { describe, expect, it } from 'vitest';
import { toCsv } from '../../simulators/firing-csv.ts';
import {
  type FiredScenario,
  fireScenario,
  liveFiring,
  type ScenarioRow,
  scenarioRows,
} from '../../simulators/firing-scenario.ts';
import { readingsOfCsv } from '../../simulators/play-csv.ts';
import {
  doorOpened,
  flameOut,
  lateHand,
  quietElectric,
  quietGas,
  silentLine,
  sinkingBottle,
} from '../support/scenarios.ts';

const clock = (atMs: number): string => new Date(atMs).toISOString().slice(11, 16);
const peakC = (rows: readonly ScenarioRow[]): number => Math.max(...rows.map((r) => r.celsius ?? 0));
const firstAtMs = (rows: readonly ScenarioRow[], celsius: number): number =>
  rows.find((r) => (r.celsius ?? 0) >= celsius)?.atMs ?? Number.NaN;
const actAtMs = (fired: FiredScenario, what: string, value: string): number =>
  fired.acts.find((a) => a.what === what && a.value === value)?.atMs ?? Number.NaN;

/** Minutes between two instants of UTC on the day of the scenarios. */
function minutesOff(atMs: number, hour: number, minute: number): number {
  return Math.abs(atMs - Date.UTC(2025, 4, 12, hour, minute)) / 60_000;
}

describe('a quiet gas firing', () => {
  const fired = fireScenario(quietGas());
  const shelf = fired.rows.filter((r) => r.sensor === 'shelf');

  it('stays within the tolerance of its hold and has nothing wrong', () => {
    expect(fired.faults).toEqual([]);
    expect(peakC(shelf)).toBeGreaterThan(657);
    expect(peakC(shelf)).toBeLessThan(664);
    const offAtMs = actAtMs(fired, 'gas', 'off');
    const hold = shelf.filter((r) => r.atMs > offAtMs - 12 * 60_000 && r.atMs < offAtMs);
    for (const row of hold) expect(Math.abs((row.celsius ?? 0) - 660)).toBeLessThan(6);
  });

  it('climbs at about the pace of its plan', () => {
    for (const [fromC, toC, rateCPerH] of [
      [100, 440, 240],
      [460, 550, 180],
      [565, 650, 120],
    ] as const) {
      const hours = (firstAtMs(shelf, toC) - firstAtMs(shelf, fromC)) / 3_600_000;
      expect((toC - fromC) / hours / rateCPerH).toBeGreaterThan(0.85);
      expect((toC - fromC) / hours / rateCPerH).toBeLessThan(1.15);
    }
  });

  it('turns the gas off first and shuts the damper a minute after', () => {
    expect(actAtMs(fired, 'damper', 'shut') - actAtMs(fired, 'gas', 'off')).toBe(60_000);
  });

  it('has its door propped until 450 °C and cracked only at 150', () => {
    const at = (ms: number) => shelf.findLast((r) => r.atMs <= ms)?.celsius ?? 0;
    expect(Math.abs(at(actAtMs(fired, 'door', 'closed')) - 450)).toBeLessThan(5);
    expect(at(actAtMs(fired, 'door', 'cracked'))).toBeLessThan(152);
    expect(fired.rows.at(-1)?.celsius).toBeLessThan(60);
  });
});

describe('the late hand', () => {
  const fired = fireScenario(lateHand({ comes: true }));
  const twin = fireScenario(lateHand({ comes: false }));

  it('passes 636 at 13:52 and 648 at 13:58, climbing 2 °C a minute', () => {
    expect(minutesOff(firstAtMs(fired.rows, 636), 13, 52)).toBeLessThan(1);
    expect(minutesOff(firstAtMs(fired.rows, 648), 13, 58)).toBeLessThan(1);
  });

  it('is turned down at 14:00 and peaks at 664', () => {
    const turned = fired.acts.find((a) => a.what === 'valve' && minutesOff(a.atMs, 14, 0) < 1);
    expect(turned?.turn).toMatchObject({ control: 'valve' });
    expect(peakC(fired.rows)).toBeGreaterThanOrEqual(663);
    expect(peakC(fired.rows)).toBeLessThanOrEqual(665);
    expect(fired.faults).toMatchObject([{ class: 'overshoot', harmMs: null }]);
  });

  it('without the hand is at 672 about 14:10 and goes on', () => {
    expect(minutesOff(firstAtMs(twin.rows, 672), 14, 10)).toBeLessThan(1.5);
    expect(peakC(twin.rows)).toBeGreaterThan(672);
    expect(twin.faults[0]?.harmMs).not.toBeNull();
  });

  it('is the same firing as its twin until the hand is there', () => {
    const until = Date.UTC(2025, 4, 12, 13, 59);
    const upTo = (rows: readonly ScenarioRow[]) => rows.filter((r) => r.atMs < until);
    expect(upTo(fired.rows)).toEqual(upTo(twin.rows));
  });
});

describe('the sinking bottle', () => {
  it('lets the climb sink from 150 to 55 °C an hour in 20 minutes from 480 °C', () => {
    const fired = fireScenario(sinkingBottle());
    const onsetMs = fired.faults[0]?.onsetMs ?? Number.NaN;
    const glassC = (minutes: number) => fired.rows.findLast((r) => r.atMs <= onsetMs + minutes * 60_000)?.glassC ?? 0;
    const climb = (from: number, to: number) => ((glassC(to) - glassC(from)) / (to - from)) * 60;
    expect(firstAtMs(fired.rows, 480)).toBe(onsetMs);
    expect(climb(-5, 0)).toBeGreaterThan(140);
    expect(climb(-5, 0)).toBeLessThan(160);
    expect(climb(18, 22)).toBeGreaterThan(48);
    expect(climb(18, 22)).toBeLessThan(62);
    expect(fired.faults).toMatchObject([{ class: 'stalled-ramp' }]);
  });

  it('climbs again once the painter is told and has changed the bottle', () => {
    const fired = fireScenario(sinkingBottle({ toldAfterS: 20 * 60 }));
    const changedMs = actAtMs(fired, 'bottle', 'changed');
    const at = (minutes: number) => fired.rows.findLast((r) => r.atMs <= changedMs + minutes * 60_000)?.celsius ?? 0;
    expect(at(15) - at(5)).toBeGreaterThan(2 * (at(0) - at(-10)));
    expect(peakC(fired.rows)).toBeGreaterThan(655);
    expect(fired.faults[0]?.endsMs).toBe(changedMs);
  });
});

describe('a flame blown out at 612 °C', () => {
  const fired = fireScenario(flameOut());
  const shelf = fired.rows.filter((r) => r.sensor === 'shelf');
  const onsetMs = fired.faults[0]?.onsetMs ?? Number.NaN;
  const at = (minutes: number) => shelf.findLast((r) => r.atMs <= onsetMs + minutes * 60_000)?.celsius ?? 0;

  it('has lost 5 °C within two minutes, to a sheathed couple', () => {
    expect(at(0)).toBeGreaterThanOrEqual(612);
    expect(at(0) - at(2)).toBeGreaterThan(5);
  });

  it('has its gas shut off first, is aired, and is lit again after about ten minutes near 571 °C', () => {
    const relitMs = fired.acts.filter((a) => a.what === 'flame').at(-1)?.atMs ?? Number.NaN;
    const offMs = actAtMs(fired, 'gas', 'off');
    expect(offMs).toBeGreaterThan(onsetMs);
    expect(relitMs - offMs).toBe(480_000);
    expect(fired.acts.filter((a) => a.what === 'valve' && a.atMs > offMs && a.atMs < relitMs)).toEqual([]);
    const relitC = shelf.findLast((r) => r.atMs <= relitMs)?.celsius ?? 0;
    expect(Math.abs(relitC - 571)).toBeLessThan(12);
    expect(fired.faults).toMatchObject([{ class: 'heat-lost', endsMs: relitMs }]);
    expect(peakC(shelf)).toBeGreaterThan(655);
  });
});

describe('a door opened at 310 °C', () => {
  const withSwitch = fireScenario(doorOpened({ lidSwitch: true }));
  const without = fireScenario(doorOpened({ lidSwitch: false }));

  it('is open for 40 s by its switch', () => {
    const opened = withSwitch.faults[0]?.onsetMs ?? Number.NaN;
    const open = withSwitch.rows.filter((r) => r.lid === 'open' && Math.abs(r.atMs - opened) < 120_000);
    expect(open.length * 5).toBeGreaterThanOrEqual(35);
    expect(open.length * 5).toBeLessThanOrEqual(45);
  });

  it('shows as a fall of more than 15 °C within the minute and a recovery, to a couple of 20 s lag', () => {
    const opened = without.faults[0]?.onsetMs ?? Number.NaN;
    const at = (s: number) => without.rows.findLast((r) => r.atMs <= opened + s * 1000)?.celsius ?? 0;
    expect(at(0)).toBeLessThan(312);
    expect(at(0) - at(45)).toBeGreaterThan(15);
    expect(at(180)).toBeGreaterThan(at(45) + 4);
    expect(without.rows.some((r) => 'lid' in r)).toBe(false);
  });
});

describe('a silent line', () => {
  it('leaves four minutes without rows while the kiln fires on', () => {
    const fired = fireScenario(silentLine());
    const { onsetMs = 0, endsMs = 0 } = fired.faults[0] ?? {};
    expect((endsMs ?? 0) - onsetMs).toBe(240_000);
    expect(fired.rows.filter((r) => r.atMs > onsetMs && r.atMs < (endsMs ?? 0))).toEqual([]);
    expect(peakC(fired.rows)).toBeGreaterThan(655);
  });
});

describe('a quiet electric firing', () => {
  it('holds 590 and 530 within its tolerance without a hand', () => {
    const fired = fireScenario(quietElectric());
    expect(fired.faults).toEqual([]);
    expect(fired.acts.map((a) => a.what)).toEqual(['door', 'door', 'door']);
    expect(Math.abs(peakC(fired.rows) - 590)).toBeLessThan(5);
    const near530 = fired.rows.filter((r) => Math.abs((r.celsius ?? 0) - 530) < 5);
    expect(near530.length * 10).toBeGreaterThan(14 * 60);
  });

  it('gives no more heat once it is let fall', () => {
    const scenario = quietElectric();
    const live = liveFiring(scenario);
    live.step(scenario.startedAtMs + 5 * 3_600_000);
    const { inJ } = live.plant.ledger();
    expect(live.plant.celsius('shelf')).toBeGreaterThan(200);
    live.step(Number.POSITIVE_INFINITY);
    expect(live.ended()).toBe(true);
    expect(live.plant.ledger().inJ).toBe(inJ);
  });
});

describe('any scenario', () => {
  it('comes out the same for the same seed, and otherwise for another', () => {
    const rows = (seed: number) => toCsv(fireScenario({ ...quietGas(seed), endsAfterS: 3600 }).rows);
    expect(rows(1)).toBe(rows(1));
    expect(rows(1)).not.toBe(rows(2));
  });

  it('gives the same rows driven live in uneven strides as in one go', () => {
    const scenario = { ...quietGas(), endsAfterS: 2 * 3600 };
    const live = liveFiring(scenario);
    const rows: ScenarioRow[] = [];
    for (let strideMs = 500; !live.ended(); strideMs = (strideMs * 7) % 90_001) {
      rows.push(...live.step(live.atMs() + strideMs).rows);
    }
    expect(rows).toEqual(fireScenario(scenario).rows);
    expect([...scenarioRows(scenario)]).toEqual(rows);
  });

  it('writes a CSV that says what the rows say, with the lid where there is a switch', () => {
    const { rows } = fireScenario({ ...doorOpened({ lidSwitch: true }), endsAfterS: 600 });
    const csv = toCsv(rows);
    expect(csv.split('\n')[0]).toBe('time,sensor,celsius,lid');
    expect(csv.split('\n')[1]).toMatch(/^2025-05-12T09:00:00\.000Z,shelf,\d+(\.\d+)?,closed$/);
    expect(readingsOfCsv(csv)).toEqual(rows.map(({ glassC: _, ...shown }) => shown));
    expect(clock(readingsOfCsv(csv)[0]?.atMs ?? 0)).toBe('09:00');
  });

  it('leaves the temperature empty where the instrument gave none', () => {
    const csv = toCsv([{ atMs: 0, sensor: 'shelf', celsius: null, glassC: 20 }]);
    expect(csv).toBe('time,sensor,celsius\n1970-01-01T00:00:00.000Z,shelf,\n');
  });
});
