/** Why a serial port cannot be opened, in words that help. */
import { existsSync, readFileSync, statSync } from 'node:fs';
import { BY_ID_DIR, pluggedIn } from './serial-ports.ts';

/**
 * One sentence or two: what is wrong with the port, and what would help.
 * @param byIdDir where the ports that are plugged in are listed
 */
export function whyNotOpened(port: string, error: Error, byIdDir = BY_ID_DIR): string {
  const text = error.message;
  if (!existsSync(port)) {
    return `${port} is not there. Plug the instrument in, or correct its port: ${whatIsThere(byIdDir)}`;
  }
  if (/permission denied/i.test(text)) return noPermission(port);
  if (/cannot lock|resource temporarily unavailable|busy/i.test(text)) {
    return `${port} is in use by another program. Close that program; only one can listen to a port.`;
  }
  if (/inappropriate ioctl|not a tty|is a directory/i.test(text)) {
    return `${port} is no serial port. Correct the port: ${whatIsThere(byIdDir)}`;
  }
  return `${port} cannot be opened (${reason(text)}). Unplug the instrument and plug it in again.`;
}

/** As many as a person reads. */
const NAMED_PORTS = 4;

function whatIsThere(byIdDir: string): string {
  const ports = pluggedIn(byIdDir).slice(0, NAMED_PORTS);
  if (ports.length === 0) return `"ls ${byIdDir}" lists what is plugged in.`;
  return `plugged in ${ports.length === 1 ? 'is' : 'are'} ${ports.join(' and ')}.`;
}

function noPermission(port: string): string {
  const group = owningGroup(port);
  if (group === undefined)
    return `${port} may not be read by this user. Ask whoever keeps the machine for the right to read it.`;
  return `${port} may not be read by this user: it belongs to the group ${group}. Run "sudo usermod -aG ${group} $USER", then log in again.`;
}

/** The name of the group that owns the device, or its number where it has no name. */
function owningGroup(port: string): string | undefined {
  try {
    const { gid } = statSync(port);
    const line = readFileSync('/etc/group', 'utf8')
      .split('\n')
      .find((entry) => entry.split(':')[2] === String(gid));
    return line?.split(':')[0] ?? String(gid);
  } catch {
    // No list of groups on this machine, or the device went away meanwhile: the sentence does without.
    return undefined;
  }
}

function reason(text: string): string {
  return text
    .replace(/^Error:?\s*/, '')
    .replace(/, cannot open .*$/, '')
    .slice(0, 120);
}
