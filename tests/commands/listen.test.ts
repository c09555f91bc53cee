/** `spyhole listen` as a person runs it, on a real pseudo-terminal and at a real broker. */
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { connectAsync } from 'mqtt';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { loadConfig } from '../../daemon/config/load.ts';
import { runBuilt } from '../support/built-daemon.ts';
import { needs } from '../support/debian.ts';
import { mosquitto } from '../support/mosquitto.ts';
import { type TerminalPair, terminalPair } from '../support/terminal-pair.ts';

describe.runIf(needs('socat', 'mosquitto'))('spyhole listen', () => {
  let dir: string;
  let toStop: (() => Promise<unknown>)[];
  beforeEach(() => {
    dir = mkdtempSync(join(tmpdir(), 'spyhole-listen-'));
    toStop = [];
  });
  afterEach(async () => {
    for (const stop of toStop.reverse()) await stop();
    rmSync(dir, { recursive: true, force: true });
  });

  /** A line each tenth of a second, as long as the test runs. */
  async function amplifier(line: string): Promise<TerminalPair> {
    const pair = await terminalPair(dir);
    const timer = setInterval(() => void pair.write(line).catch(() => undefined), 100);
    toStop.push(async () => {
      clearInterval(timer);
      await pair.unplug();
    });
    return pair;
  }

  it('shows the lines as they come, and every way to read each figure', async () => {
    const { port } = await amplifier('21.5;70.7\r\n');
    const { code, stdout, stderr } = await runBuilt(['listen', '--port', port, '--seconds', '2']);
    expect(stderr).toContain(`Listening to ${port} at 9600 baud.`);
    expect(stdout).toMatch(/^21\.5;70\.7$/m);
    expect(stdout).toContain('column 1 of 2: 21.5\n     21.5 °C  like a room       column 1 of 2 / C');
    expect(stdout).toContain('     21.5 °C  like a room       column 2 of 2 / F');
    expect(code).toBe(0);
  });

  it('writes the kiln that is picked', async () => {
    const { port } = await amplifier('21.5;70.7\r\n');
    const file = join(dir, 'kilns.yaml');
    const picks = ['--pick', 'shelf=column 1 of 2 / C', 'top:S=column 2 of 2 / F'];
    const kiln = ['--name', 'Gas kiln', '--heat', 'gas', '--closure', 'door', '--config', file];
    const { code, stdout } = await runBuilt(['listen', '--port', port, ...kiln, ...picks]);
    expect(code).toBe(0);
    expect(stdout).toContain('- id: gas-kiln');
    const [written] = loadConfig(file, {}).kilns;
    expect(written?.kiln.sensors).toMatchObject([
      { name: 'shelf', letter: 'K', rules: true },
      { name: 'top', letter: 'S', unit: 'F' },
    ]);
    expect(readFileSync(file, 'utf8')).toContain(`port: ${port}`);
  });

  it('hears the topics of a broker', async () => {
    const { url, stop } = await mosquitto();
    toStop.push(stop);
    const board = await connectAsync(url, { reconnectPeriod: 0 });
    const timer = setInterval(() => board.publish('kiln/all', '{"shelf":21.5}'), 100);
    toStop.push(async () => {
      clearInterval(timer);
      await board.endAsync(true);
    });
    const kiln = ['--name', 'K', '--heat', 'electric', '--closure', 'lid', '--pick', 'shelf=kiln/all shelf / C'];
    const { code, stdout } = await runBuilt(['listen', '--mqtt', url, '--mqtt-version', '5', ...kiln]);
    expect(code).toBe(0);
    expect(stdout).toContain('kiln/all: {"shelf":21.5}');
    expect(stdout).toContain('version: 5');
    expect(stdout).toContain('path: shelf');
  });

  it('ends incomplete where nothing is heard, and says what would help', async () => {
    const { code, stderr } = await runBuilt(['listen', '--port', join(dir, 'none'), '--seconds', '1']);
    expect(code).toBe(3);
    expect(stderr).toContain('is not there');
    expect(stderr).toContain('Check the cable and the baud');
  });

  it.each([
    [['--port', 'a', '--tcp', 'b:1'], 'name one place only'],
    [['--port', 'a', '--baud', 'fast'], '--baud "fast": write a whole number from 300 to 230400'],
    [['--tcp', 'nowhere'], '"nowhere" is no address'],
    [['--port', 'a', '--pick', 'shelf=1'], 'write SENSOR=PLACE / WAY'],
    [['--port', 'a', '--pick', 'shelf=column 1 of 2 / C'], 'write --name, --heat gas or electric'],
  ])('is told what is wrong with %j', async (args, sentence) => {
    const { code, stderr } = await runBuilt(['listen', ...args]);
    expect(code).toBe(2);
    expect(stderr).toContain(sentence);
    expect(stderr).not.toContain('    at ');
  });
});
