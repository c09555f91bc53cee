import { mkdirSync, mkdtempSync, rmSync, symlinkSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { pluggedIn } from '../../daemon/inputs/serial-ports.ts';
import { whyNotOpened } from '../../daemon/inputs/serial-trouble.ts';

let dir: string;
let byId: string;

beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), 'spyhole-ports-'));
  byId = join(dir, 'by-id');
});
afterEach(() => rmSync(dir, { recursive: true, force: true }));

function plugIn(...names: string[]): void {
  mkdirSync(byId, { recursive: true });
  for (const name of names) symlinkSync('../../ttyUSB0', join(byId, name));
}
const notThere = (): string => whyNotOpened(join(dir, 'kiln'), new Error('No such file'), byId);

test('the ports that are plugged in are listed by the names that stay', () => {
  plugIn('usb-b', 'usb-a');
  expect(pluggedIn(byId)).toEqual([join(byId, 'usb-a'), join(byId, 'usb-b')]);
});

test('a machine without a serial port has none', () => {
  expect(pluggedIn(byId)).toEqual([]);
  expect(notThere()).toContain(`correct its port: "ls ${byId}" lists what is plugged in.`);
});

test('who has written the wrong port is told which are there', () => {
  plugIn('usb-a');
  expect(notThere()).toBe(
    `${join(dir, 'kiln')} is not there. Plug the instrument in, or correct its port: plugged in is ${join(byId, 'usb-a')}.`,
  );
  plugIn('usb-b');
  expect(notThere()).toContain(`plugged in are ${join(byId, 'usb-a')} and ${join(byId, 'usb-b')}.`);
});
