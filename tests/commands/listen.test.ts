/** `spyhole listen` as a person runs it, on a real pseudo-terminal and at a real broker. */
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { connectAsync } from 'mqtt';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { loadConfig } from '../../daemon/config/load.ts';
import { runBuilt } from '../support/built-daemon.ts';
import { needs } from '../support/debian.ts';
import { serveWithPymodbus } from '../support/modbus-clients.ts';
import { freePort, mosquitto } from '../support/mosquitto.ts';
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
    expect(stderr).toMatch(/is not there\. Plug the instrument in, or correct its port: [^\n]*\n$/);
  });

  it('says what to look at where the line is open and nothing comes', async () => {
    const { port, unplug } = await terminalPair(dir);
    toStop.push(unplug);
    const silent = await runBuilt(['listen', '--port', port, '--seconds', '1']);
    expect(silent.code).toBe(3);
    expect(silent.stderr).toContain('Nothing with a figure in it was heard in 1 s. Check the cable and --baud');
    const unanswered = await runBuilt(['listen', '--modbus-rtu', port, '--seconds', '1']);
    expect(unanswered.code).toBe(3);
    expect(unanswered.stderr).toContain('Check the cable, --baud, --parity and --unit');
  });

  it('prints no kiln that the watch would not take', async () => {
    const { port } = await amplifier('21.5\r\n');
    const kiln = ['--name', 'K', '--heat', 'gas', '--closure', 'lid', '--pick', 'lid=column 1 of 1 / C'];
    const { code, stdout, stderr } = await runBuilt(['listen', '--port', port, ...kiln]);
    expect(code).toBe(2);
    expect(stderr).toContain('sensors[0].name: found "lid"');
    expect(stdout).not.toContain('kind:');
  });

  it.runIf(needs('pymodbus', 'serial_asyncio'))(
    'reads an instrument on Modbus, on a line and in the network, and writes it',
    async () => {
      const registers = { 1: { 3: [215, 660, ...Array(10).fill(0)], 4: Array(12).fill(0) } };
      const pair = await terminalPair(dir);
      toStop.push(pair.unplug);
      const onLine = await serveWithPymodbus({ path: `${pair.port}-far-end` }, registers);
      const port = await freePort();
      const inNetwork = await serveWithPymodbus({ port }, registers);
      toStop.push(onLine.stop, inNetwork.stop);
      const file = join(dir, 'kilns.yaml');
      const pick = ['--pick', 'chamber=unit 1 holding 0 / int16 ABCD 0.1 C', '--heat', 'electric', '--closure', 'lid'];
      for (const place of [
        ['--modbus-rtu', pair.port, '--name', 'On the line'],
        ['--modbus-tcp', `127.0.0.1:${port}`, '--name', 'In the network'],
      ]) {
        const { code, stderr } = await runBuilt(['listen', ...place, ...pick, '--config', file]);
        expect([code, stderr]).toEqual([0, expect.stringContaining('Opening')]);
      }
      expect(loadConfig(file, {}).kilns.map(({ kiln }) => kiln.id)).toEqual(['on-the-line', 'in-the-network']);
    },
    60_000,
  );

  it.each([
    [['--port', 'a', '--tcp', 'b:1'], 'name one place only'],
    [['--port', 'a', '--baud', 'fast'], '--baud "fast": write 300, 600, 1200'],
    [['--port', 'a', '--baud', '12345'], '--baud "12345": write 300, 600, 1200'],
    [['--port', 'a', '--seconds', '0'], '--seconds "0": write a whole number from 1 to 3600'],
    [['--port', 'a', '--unit', '3'], '--unit goes with --modbus-rtu or --modbus-tcp'],
    [['--modbus-rtu', 'a', '--unit', '0'], '--unit "0": write a whole number from 1 to 247'],
    [['--modbus-tcp', 'a:1', '--register', '-1'], '--register "-1": write a whole number'],
    [['--mqtt', 'mqtt://a:1', '--mqtt-version', '4'], '--mqtt-version "4": write 3.1.1 or 5'],
    [['--mqtt', 'mqtt://a:1', '--password-file', 'x'], '--password-file goes with --username'],
    [['--mqtt', 'mqtt://a:1', '--ca-file', 'x'], '--ca-file goes with an address that begins with mqtts:'],
    [['--mqtt', 'mqtts://a:1', '--ca-file', '/nope'], '--ca-file /nope cannot be read'],
    [['--mqtt', 'mqtt://kiln:secret@a:1'], 'without a name or password in it'],
    [['--mqtt', 'a:1'], '"a:1" is no address; write mqtt://HOST:1883'],
    [['--pick', 'a=column 1 of 1 / C', '--name', 'x', '--heat', 'gas', '--closure', 'lid'], '--pick goes with --port'],
    [['--port', 'a', '--name', 'x'], 'name its sensors with --pick'],
    [['--tcp', 'nowhere'], '"nowhere" is no address'],
    [['--port', 'a', '--pick', 'shelf=1'], 'write SENSOR=PLACE / WAY'],
    [['--port', 'a', '--pick', 'shelf=column 1 of 2 / C'], 'write --name, --heat gas or electric'],
  ])('is told what is wrong with %j', async (args, sentence) => {
    const { code, stderr } = await runBuilt(['listen', ...args]);
    expect(code).toBe(2);
    expect(stderr).toContain(sentence);
    expect(stderr).not.toContain('    at ');
    expect(stderr).not.toContain('secret');
    expect(stderr.trim().split('\n')).toHaveLength(1);
  });
});
