/**
 * What stands where the page would, while the kiln's computer does not answer: made by the service worker from words
 * alone. It knows no figure of any kiln, so none of yesterday can stand there as one of now.
 */
import { awayDoor, CLAUSE_END, away as words } from './wording.ts';

/** How often it looks whether the daemon is back, and how long it waits for a word. */
const LOOK_MS = 4000;

/** @param path of the address that was asked for: the sign at a door says what a door needs */
export function notLivePage(path: string, nonce: string): string {
  const isDoor = path.startsWith('/door/');
  const { title, lines } = isDoor ? awayDoor : words;
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>${title}</title>
<style nonce="${nonce}">${style}</style>
</head>
<body>
<main>
<h1>${title
    .split(CLAUSE_END)
    .map((clause) => `<span class="clause">${clause}</span>`)
    .join(' ')}</h1>
${lines.map((line) => `<p>${line}</p>`).join('\n')}
<p class="quiet" id="looked"></p>
</main>
<script nonce="${nonce}">(${lookAgain.toString()})(${JSON.stringify({ eachMs: LOOK_MS, said: words.looked })})</script>
</body>
</html>
`;
}

/** Nothing but its own two inline parts and a question to the daemon. */
export function notLivePolicy(nonce: string): string {
  return [
    "default-src 'none'",
    `style-src 'nonce-${nonce}'`,
    `script-src 'nonce-${nonce}'`,
    "connect-src 'self'",
    "base-uri 'none'",
    "form-action 'none'",
    "frame-ancestors 'none'",
  ].join('; ');
}

/** Runs on that page, so it may use nothing from outside itself. It loads the page anew once the daemon answers. */
function lookAgain({ eachMs, said }: { readonly eachMs: number; readonly said: string }): void {
  const theme = (() => {
    try {
      return localStorage.getItem('spyhole.theme');
    } catch {
      return null;
    }
  })();
  if (theme === 'light' || theme === 'dark') document.documentElement.dataset.theme = theme;
  const look = async (): Promise<void> => {
    try {
      const answer = await fetch('/', { method: 'HEAD', cache: 'no-store', signal: AbortSignal.timeout(eachMs) });
      if (answer.ok) {
        location.reload();
        return;
      }
    } catch {
      // Still away.
    }
    const place = document.getElementById('looked');
    const now = new Date();
    const two = (n: number): string => String(n).padStart(2, '0');
    if (place !== null)
      place.textContent = `${said} ${two(now.getHours())}:${two(now.getMinutes())}:${two(now.getSeconds())}`;
    setTimeout(() => void look(), eachMs);
  };
  void look();
}

/** The page's own inks; see style.css. */
const style = `
:root{--paper:#f3f1ec;--ink:#20242c;--quiet:#5a606c;color-scheme:light;font-family:system-ui,"Liberation Sans",Arial,sans-serif;font-variant-numeric:tabular-nums;line-height:1.4}
@media (prefers-color-scheme:dark){:root:not([data-theme=light]){--paper:#15181d;--ink:#e9e7e2;--quiet:#a3a9b5;color-scheme:dark}}
:root[data-theme=dark]{--paper:#15181d;--ink:#e9e7e2;--quiet:#a3a9b5;color-scheme:dark}
body{margin:0;background:var(--paper);color:var(--ink)}
main{box-sizing:border-box;min-height:100vh;display:flex;flex-direction:column;justify-content:center;gap:1rem;max-width:44rem;margin:0 auto;padding:1.5rem}
h1{margin:0;padding:.5rem 1.25rem;background:var(--ink);color:var(--paper);font-size:clamp(2rem,9vw,4.5rem);line-height:1.15}
p{margin:0;font-size:clamp(1.125rem,2.9vw,1.75rem)}
.clause{display:inline-block}
.quiet{color:var(--quiet);font-size:1rem;min-height:1.4em}
`;
