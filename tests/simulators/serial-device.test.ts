import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { SerialPort } from 'serialport';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { fireScenario } from '../../simulators/firing-scenario.ts';
import { playRows } from '../../simulators/play-csv.ts';
import { lineOf, momentsOf, serialDevice } from '../../simulators/serial-device.ts';
import { needs } from '../support/debian.ts';
import { manualWaits } from '../support/manual-waits.ts';
import { quietGas } from '../support/scenarios.ts';
import { terminalPair } from '../support/terminal-pair.ts';

describe('a line of an instrument', () => {
  it('holds the values in the columns’ order, an empty field where there is none', () => {
    const rows = [
      { atMs: 0, sensor: 'top', celsius: null },
      { atMs: 0, sensor: 'shelf', celsius: 648.25, lid: 'open' as const },
    ];
    expect(lineOf(['shelf', 'top', 'lid'], rows)).toBe('648.25;;open');
  });
});

describe.runIf(needs('socat'))('a simulated instrument on a real pseudo-terminal', () => {
  let dir: string;
  beforeEach(() => {
    dir = mkdtempSync(join(tmpdir(), 'spyhole-device-'));
  });
  afterEach(() => rmSync(dir, { recursive: true, force: true }));

  it('is heard line by line by whoever opens the other end, a firing played many times faster', async () => {
    const pair = await terminalPair(dir);
    const port = new SerialPort({ path: pair.port, baudRate: 9600, autoOpen: false });
    await new Promise<void>((resolve, reject) => port.open((error) => (error ? reject(error) : resolve())));
    let heard = '';
    port.on('data', (bytes: Buffer) => {
      heard += bytes.toString();
    });
    const { rows } = fireScenario({ ...quietGas(), endsAfterS: 300 });
    const moments = [...momentsOf(rows)];
    const device = serialDevice(join(dir, 'kiln-port-far-end'), ['shelf', 'top']);
    const clock = manualWaits();
    const playing = playRows(moments, 1000, clock, (m) => expect(device.write(m.rows)).toBe(true));
    for (let i = 1; i < moments.length; i++) await clock.passNextWait();
    await playing.done;
    const lines = moments.map((m) => lineOf(['shelf', 'top'], m.rows));
    while (heard.split('\r\n').length <= lines.length) await new Promise((resolve) => port.once('data', resolve));

    expect(moments.length).toBe(31);
    expect(heard).toBe(`${lines.join('\r\n')}\r\n`);
    device.close();
    await new Promise<void>((resolve) => port.close(() => resolve()));
    await pair.unplug();
  });

  it('loses lines rather than wait when nobody takes them away', async () => {
    const pair = await terminalPair(dir);
    const device = serialDevice(join(dir, 'kiln-port-far-end'), ['shelf']);
    let lost = false;
    for (let i = 0; i < 100_000 && !lost; i++) lost = !device.writeRaw(`${'9'.repeat(200)}\r\n`);
    expect(lost).toBe(true);
    device.close();
    await pair.unplug();
  });
});
