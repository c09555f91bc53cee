import type { ScreenKey } from './route.ts';
import { address } from './route.ts';
import type { Theme } from './theme.ts';
import { appName, screens, theme as words } from './wording.ts';

interface TopBarProps {
  readonly screen: ScreenKey;
  readonly theme: Theme;
  turnTheme(): void;
}

const order: readonly ScreenKey[] = ['watch', 'firings', 'begin'];

export function TopBar({ screen, theme, turnTheme }: TopBarProps) {
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
      <button type="button" class="brightness" onClick={turnTheme}>
        {theme === 'dark' ? words.toLight : words.toDark}
      </button>
    </div>
  );
}
