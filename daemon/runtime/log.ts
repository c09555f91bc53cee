/** What the person who keeps the machine reads: one sentence a line, with the time, on standard error. */
export type Log = (sentence: string) => void;

export function stderrLog(): Log {
  return (sentence) => {
    // A line break or control character in a name must not forge a second line.
    const clean = sentence.replace(/[\p{Cc}\p{Zl}\p{Zp}]+/gu, ' ');
    process.stderr.write(`${new Date().toISOString()} ${clean}\n`);
  };
}
