/** What an instrument said, printable and short enough for a sentence. */
export function quote(text: string): string {
  const printable = text.replace(/[^\x20-\x7e\u00a0-\uffff]/g, '·');
  return `"${printable.length > 40 ? `${printable.slice(0, 40)}…` : printable}"`;
}
