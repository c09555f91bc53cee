/** Light or dark: as the system asks, until somebody in a dim firing room says otherwise. */
import { useEffect, useState } from 'preact/hooks';
import { recall, remember } from './keepsakes.ts';

export type Theme = 'light' | 'dark';

const systemIsDark = window.matchMedia('(prefers-color-scheme: dark)');

function chosen(): Theme | null {
  const kept = recall('theme');
  return kept === 'light' || kept === 'dark' ? kept : null;
}

/** To be called before the first picture, so that a dark room is not lit up. */
export function applyTheme(): void {
  const choice = chosen();
  if (choice === null) delete document.documentElement.dataset.theme;
  else document.documentElement.dataset.theme = choice;
}

export function useTheme(): { readonly theme: Theme; turn(): void } {
  const [theme, setTheme] = useState<Theme>(chosen() ?? (systemIsDark.matches ? 'dark' : 'light'));
  useEffect(() => {
    const follow = (): void => setTheme(chosen() ?? (systemIsDark.matches ? 'dark' : 'light'));
    systemIsDark.addEventListener('change', follow);
    return () => systemIsDark.removeEventListener('change', follow);
  }, []);
  return {
    theme,
    turn() {
      const other: Theme = theme === 'dark' ? 'light' : 'dark';
      remember('theme', other);
      applyTheme();
      setTheme(other);
    },
  };
}
