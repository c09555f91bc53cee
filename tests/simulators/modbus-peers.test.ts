/** Clients that others wrote, against the simulated slaves on a real terminal and a real socket. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { RunningBehind } from '../../simulators/behind-interface.ts';
import { needs } from '../support/debian.ts';
import { FINISHED_SENSORS, finishedFiring } from '../support/finished-firing.ts';
import { poll, pollOnce, readWithPymodbus, type SlavePlace } from '../support/modbus-clients.ts';
import { type TerminalPair, terminalPair } from '../support/terminal-pair.ts';

const sensors = FINISHED_SENSORS;

describe.runIf(needs('socat', 'mbpoll', 'pymodbus', 'serial_asyncio'))('a simulated slave on a serial line', () => {
  let dir: string;
  let pair: TerminalPair;
  let running: RunningBehind;
  let place: SlavePlace;
  beforeEach(async () => {
    dir = mkdtempSync(join(tmpdir(), 'spyhole-rtu-'));
    pair = await terminalPair(dir);
    place = { path: pair.port };
    running = await finishedFiring([{ kind: 'modbus-rtu', path: `${pair.port}-far-end`, sensors }]);
  });
  afterEach(async () => {
    await running.stop();
    await pair.unplug();
    rmSync(dir, { recursive: true, force: true });
  });

  it('is read by mbpoll as whole numbers and as floats of both word orders', async () => {
    expect((await poll(place, 1, { as: '3', from: 0, count: 2 })).values).toEqual({ 0: '6483', 1: '648' });
    expect((await poll(place, 1, { as: '4:float', from: 2 })).values).toEqual({ 2: '648.25' });
    expect((await poll(place, 1, { as: '4:float', from: 4, lowWordFirst: true })).values).toEqual({ 4: '648.25' });
    expect((await poll(place, 1, { as: '3:int', from: 26 })).values).toEqual({ 26: '-1234' });
    expect((await poll(place, 1, { as: '3', from: 10 })).values).toEqual({ 10: '32767' });
    expect((await poll(place, 1, { as: '3:float', from: 12 })).values).toEqual({ 12: 'nan' });
    expect(running.counts()[0]?.requests).toBeGreaterThanOrEqual(6);
  });

  it('is read by pymodbus, by both functions, and refuses what it does not have', async () => {
    const read = await readWithPymodbus(place, [
      [1, 3, 0, 2],
      [1, 4, 2, 2],
      [1, 3, 4, 2],
      [1, 4, 100, 2],
      [1, 3, 30, 1],
    ]);
    expect(read.map((r) => r.words ?? r.exception)).toEqual([
      [6483, 648],
      expect.anything(),
      expect.anything(),
      [6600, 250],
      2,
    ]);
    expect(read[1]?.floats?.[0]).toBe(648.25);
    expect(read[2]?.floats?.[1]).toBe(648.25);
  });

  // Each on a line of its own: what a bad reply leaves on the wire spoils the next one, as on a real wire.
  it.each([
    [2, 'Connection timed out'],
    [4, 'Invalid CRC'],
    [5, 'Invalid data'],
    [6, 'Illegal data address'],
    [7, 'Slave device or server is busy'],
    [8, 'Response not from requested slave'],
    [9, 'Connection timed out'],
    [12, 'Invalid CRC'],
  ])('makes mbpoll complain of unit %i: %s', async (unit, failure) => {
    const timeoutS = failure === 'Connection timed out' ? 1 : 5;
    const polled = await pollOnce(place, unit, { as: '3', from: 0, count: 4 }, timeoutS);
    expect(polled).toEqual({ exitCode: 1, values: {}, failure });
  });

  it('answers late as unit 3: the client gives up, and its next request gets what it did not ask for', async () => {
    const [first, second] = await readWithPymodbus(
      place,
      [
        [3, 3, 0, 1],
        [3, 3, 1, 1],
      ],
      1,
    );
    expect(first?.error).toBeDefined();
    // The first request's value, or a complaint: never the one that was asked for.
    expect(second?.words).not.toEqual([648]);
  });
});

describe.runIf(needs('mbpoll', 'pymodbus', 'serial_asyncio'))('a simulated slave on TCP', () => {
  let running: RunningBehind;
  let place: SlavePlace;
  beforeEach(async () => {
    running = await finishedFiring([{ kind: 'modbus-tcp', host: '127.0.0.1', port: 0, sensors }]);
    place = { host: '127.0.0.1', port: Number(running.where[0]?.split(':').at(-1)) };
  });
  afterEach(() => running.stop());

  it('is read by mbpoll as whole numbers and as floats of both word orders', async () => {
    expect((await poll(place, 1, { as: '4', from: 0, count: 2 })).values).toEqual({ 0: '6483', 1: '648' });
    expect((await poll(place, 1, { as: '3:float', from: 2 })).values).toEqual({ 2: '648.25' });
    expect((await poll(place, 1, { as: '3:float', from: 4, lowWordFirst: true })).values).toEqual({ 4: '648.25' });
    expect((await poll(place, 1, { as: '3', from: 10 })).values).toEqual({ 10: '32767' });
  });

  it('is read by pymodbus on one connection, and an exception leaves the connection standing', async () => {
    const read = await readWithPymodbus(place, [
      [1, 3, 0, 2],
      [6, 3, 0, 2],
      [99, 3, 0, 2],
      [1, 4, 2, 2],
    ]);
    expect(read.map((r) => r.words ?? r.exception)).toEqual([[6483, 648], 2, 11, expect.anything()]);
    expect(read[3]?.floats?.[0]).toBe(648.25);
  });

  it.each([
    [2, 'Connection timed out'],
    [4, 'Invalid data'],
    [5, 'Invalid data'],
    [6, 'Illegal data address'],
    [7, 'Slave device or server is busy'],
    [9, 'Connection timed out'],
    [99, 'Target device failed to respond'],
  ])('makes mbpoll complain of unit %i: %s', async (unit, failure) => {
    const timeoutS = failure === 'Connection timed out' ? 1 : 5;
    const polled = await pollOnce(place, unit, { as: '3', from: 0, count: 4 }, timeoutS);
    expect(polled).toEqual({ exitCode: 1, values: {}, failure });
  });

  it('closes the connection over each tenth request of unit 14', async () => {
    const reads = Array.from({ length: 12 }, () => [14, 3, 0, 1] as const);
    const read = await readWithPymodbus(place, reads);
    expect(read.slice(0, 9).every((r) => r.words?.[0] === 6483)).toBe(true);
    expect(read[9]?.words).toBeUndefined();
    // The client came again.
    expect(read[11]?.words).toEqual([6483]);
  });
});
