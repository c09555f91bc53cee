/**
 * Serves a made-up firing with the real server, to look at the page at any moment of it. From the project's root:
 *
 *   npm run build
 *   node -e "import('vite').then(async (vite) => { const { module } = await vite.runnerImport('./tests/support/serve-scripted.ts', { configFile: false }); await module.main(process.argv.slice(1)); })" 4671 overshoot
 *
 * (Port, then a name of `moments` in scripted-desk.ts.) It works on Node 20, which cannot run TypeScript itself.
 * From a test: `const server = await serveScripted(0, 'holding')`, then open `server.url`.
 */
import { fileURLToPath } from 'node:url';
import { systemClock } from '../../daemon/runtime/clock.ts';
import { type RunningServer, startServer } from '../../daemon/server/http-server.ts';
import {
  type Moment,
  moments,
  type ScriptedDesk,
  type ScriptedOptions,
  sampleS,
  scriptedDesk,
} from './scripted-desk.ts';

export interface Served extends RunningServer {
  readonly desk: ScriptedDesk;
}

/** `still` keeps the moment: nothing moves but the heartbeat, and the page looks the same at every visit. */
export async function serveScripted(
  port: number,
  moment: Moment,
  options: Omit<ScriptedOptions, 'moment'> & {
    readonly still?: boolean;
    readonly host?: string;
    readonly webDir?: string;
    /** More names by which the server may be called. */
    readonly hosts?: readonly string[];
  } = {},
): Promise<Served> {
  const clock = systemClock();
  const { still, host, webDir, hosts, ...rest } = options;
  const desk = scriptedDesk({ atMs: clock.nowMs(), ...rest, moment });
  const deskClock = { ...clock, nowMs: desk.nowMs };
  const server = await startServer(desk, {
    host: host ?? '127.0.0.1',
    port,
    hosts: hosts ?? [],
    webDir: webDir ?? fileURLToPath(new URL('../../dist/web', import.meta.url)),
    log: () => undefined,
    clock: deskClock,
  });
  const stop = still === true ? () => undefined : clock.every(sampleS * 1000, () => desk.advance(sampleS));
  return {
    ...server,
    desk,
    close: async () => {
      stop();
      await server.close();
    },
  };
}

export async function main(args: readonly string[]): Promise<void> {
  const [port = '4671', moment = 'climbing'] = args;
  const known = moments.find((one) => one === moment);
  if (known === undefined) throw new Error(`No moment "${moment}": choose one of ${moments.join(', ')}.`);
  const server = await serveScripted(Number(port), known);
  console.log(`listening ${server.url} (${known})`);
}
