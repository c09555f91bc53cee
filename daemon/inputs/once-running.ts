/** What every input does the same way: it runs once between start and stop, however often it is asked. */
import type { Input, Listener } from './input.ts';

export interface Running {
  stop(): Promise<void>;
}

export function onceRunning(name: string, run: (listener: Listener) => Running): Input {
  let running: Running | undefined;
  return {
    name,
    start(listener) {
      running ??= run(listener);
    },
    async stop() {
      const ending = running;
      running = undefined;
      await ending?.stop();
    },
  };
}
