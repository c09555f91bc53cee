/** Plays a scenario behind a real interface, at its own pace or up to 3,600 times faster. */
import { parseHostPort } from '../daemon/config/host-port.ts';
import { DaemonError } from '../daemon/errors.ts';
import { simulatedClock } from '../daemon/runtime/clock.ts';
import { type Behind, runBehind } from './behind-interface.ts';
import { DeviceError, sourceOf } from './device.ts';
import { type FiringScenario, liveFiring } from './firing-scenario.ts';

export interface Addresses {
  readonly serial: string | undefined;
  readonly modbusRtu: string | undefined;
  readonly modbusTcp: string | undefined;
  readonly mqtt: string | undefined;
}

function behindOf(scenario: FiringScenario, to: Addresses): Behind[] {
  const shown = { sensors: scenario.couples.map((c) => c.sensor), lidSwitch: scenario.lidSwitch };
  const all: Behind[] = [];
  if (to.serial !== undefined) all.push({ ...shown, kind: 'serial', path: to.serial });
  if (to.modbusRtu !== undefined) all.push({ ...shown, kind: 'modbus-rtu', path: to.modbusRtu });
  if (to.modbusTcp !== undefined) {
    const at = parseHostPort(to.modbusTcp);
    if (at === undefined) throw new DaemonError('usage', '--modbus-tcp: write HOST:PORT, for example 127.0.0.1:1502.');
    all.push({ ...shown, kind: 'modbus-tcp', host: at.host, port: at.port });
  }
  if (to.mqtt !== undefined) all.push({ ...shown, kind: 'mqtt', url: to.mqtt });
  return all;
}

/** The firing begins now. @throws DaemonError where an interface cannot be opened */
export async function playLive(
  scenario: FiringScenario,
  to: Addresses,
  speed: number,
  print: (line: string) => void,
): Promise<void> {
  const clock = simulatedClock(speed);
  const firing = liveFiring({ ...scenario, startedAtMs: clock.nowMs() });
  const running = await runBehind(sourceOf(firing), behindOf(scenario, to), clock).catch(asUsage);
  for (const where of running.where) print(`${scenario.name}: ${where}, ${speed} times as fast. Ctrl-C ends it.`);
  process.once('SIGINT', () => void running.stop());
  process.once('SIGTERM', () => void running.stop());
  await running.done.catch(asUsage);
  running.counts().forEach(({ readings, lost, requests }, i) => {
    print(`${running.where[i]}: ${readings} readings, ${lost} lost, ${requests} requests answered.`);
  });
  await running.stop();
}

/** An interface that cannot be opened, or that went away, is told in its own sentence. */
function asUsage(error: unknown): never {
  if (error instanceof DeviceError) throw new DaemonError('device', error.message);
  throw error;
}
