/** A screen on which the bell is relied upon, and which the browser does not keep lit, says so while a kiln is firing. */
import { type Device, useDevice } from './device.ts';
import { address } from './route.ts';
import { screen as words } from './wording.ts';

export function DarkScreen({ device }: { readonly device: Device }) {
  useDevice(device);
  const wake = device.wake.state();
  // Over plain http it can never be: page Screen says so once, and a line that always stands is not read.
  const mayGoDark = wake === 'refused' || wake === 'not-held';
  if (device.sound.state() !== 'on' || !mayGoDark) return null;
  return (
    <p class="trouble may-go-dark">
      {words.mayGoDark} <a href={address.screen}>{words.keepLit}</a>
    </p>
  );
}
