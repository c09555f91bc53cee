/** `spyhole watch`: start the watch and stay. */
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { dataDir } from '../config/data-dir.ts';
import { parseHostPort } from '../config/host-port.ts';
import { type Config, loadConfig, noKilnsYet } from '../config/load.ts';
import { ConfigError } from '../errors.ts';
import { startWatch } from '../runtime/assemble.ts';
import { stderrLog } from '../runtime/log.ts';

export interface WatchOptions {
  /** Without it the data folder's own, which need not be there: then the page leads to the first kiln. */
  readonly config?: string | undefined;
  readonly data?: string | undefined;
  readonly listen?: string | undefined;
}

/** Resolves once the watch was told to stop (SIGINT, SIGTERM). @throws DaemonError where it cannot begin */
export async function watch(options: WatchOptions, print: (line: string) => void): Promise<void> {
  const config = configOf(options);
  const listen = options.listen === undefined ? config.listen : parseHostPort(options.listen);
  if (listen === undefined) {
    const fault = {
      what: `${JSON.stringify(options.listen)} is no address`,
      where: '--listen',
      right: 'write HOST:PORT, for example 127.0.0.1:4660',
    };
    throw new ConfigError('the command line', [fault]);
  }
  const running = await startWatch({
    config: { ...config, listen },
    dataDir:
      options.config === undefined
        ? dataDir(options.data, process.env)
        : dataDir(options.data, process.env, config.data),
    log: stderrLog(),
  });
  print(`listening ${running.url}`);
  await untilToldToStop();
  await running.stop();
}

function configOf({ config, data }: WatchOptions): Config {
  if (config !== undefined) return loadConfig(config);
  const own = join(dataDir(data, process.env), 'spyhole.yaml');
  return existsSync(own) ? loadConfig(own) : noKilnsYet(own);
}

/** A second signal ends the process at once: the record is safe at any moment. */
export function untilToldToStop(): Promise<void> {
  return new Promise((resolve) => {
    for (const signal of ['SIGINT', 'SIGTERM'] as const) {
      process.once(signal, () => {
        process.once(signal, () => process.exit(130));
        resolve();
      });
    }
  });
}
