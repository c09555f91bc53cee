/** The scripted server as a process of its own, so that a test can freeze it as a frozen daemon would be. */
import { type ChildProcess, spawn } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import type { Moment } from './scripted-desk.ts';

export interface ScriptedProcess {
  readonly url: string;
  /** Stops it in the middle of whatever it does: its sockets stay open and say nothing. */
  freeze(): void;
  thaw(): void;
  end(): Promise<void>;
}

const root = fileURLToPath(new URL('../..', import.meta.url));

/** Node 20 cannot run TypeScript itself; the runner that builds the page can. */
function script(webDir: string, moment: Moment): string {
  return `
    import('vite').then(async (vite) => {
      const { module } = await vite.runnerImport('./tests/support/serve-scripted.ts', { configFile: false });
      const server = await module.serveScripted(0, ${JSON.stringify(moment)}, { kilns: 1, webDir: ${JSON.stringify(webDir)} });
      console.log(server.url);
    });`;
}

export async function startScriptedProcess(webDir: string, moment: Moment): Promise<ScriptedProcess> {
  const child = spawn(process.execPath, ['-e', script(webDir, moment)], {
    cwd: root,
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  const url = await firstLine(child);
  return {
    url,
    freeze: () => void child.kill('SIGSTOP'),
    thaw: () => void child.kill('SIGCONT'),
    end: () =>
      new Promise((resolve) => {
        child.once('exit', () => resolve());
        child.kill('SIGKILL');
      }),
  };
}

function firstLine(child: ChildProcess): Promise<string> {
  return new Promise((resolve, reject) => {
    let text = '';
    child.once('exit', (code) => reject(new Error(`The scripted server ended with ${code} before it listened.`)));
    child.stdout?.on('data', (chunk: Buffer) => {
      text += chunk.toString();
      const end = text.indexOf('\n');
      if (end >= 0) resolve(text.slice(0, end).trim());
    });
  });
}
