import { SoundWord } from './bell-test.tsx';
import type { Device } from './device.ts';
import type { ScreenKey } from './route.ts';
import { address } from './route.ts';
import { appName, screens } from './wording.ts';

interface TopBarProps {
  readonly screen: ScreenKey;
  readonly device: Device;
}

const order: readonly Exclude<ScreenKey, 'compare' | 'proof'>[] = ['watch', 'firings', 'begin', 'kilns', 'screen'];

export function TopBar({ screen, device }: TopBarProps) {
  return (
    <div class="top">
      <span class="mark">{appName}</span>
      <nav aria-label={appName}>
        {order.map((key) => (
          <a key={key} href={address[key]} aria-current={key === screen ? 'page' : undefined}>
            {screens[key]}
          </a>
        ))}
      </nav>
      <SoundWord device={device} />
    </div>
  );
}
