/** Cuts the bytes of a serial line into text lines, however they arrive. */

/** Ours: no instrument writes a line of 4 kB; a stream without line ends must not fill the memory. */
export const MAX_LINE_BYTES = 4096;

const LF = 10;
const CR = 13;

export interface LineSplitter {
  /** The lines that these bytes complete, in order. */
  push(bytes: Uint8Array): string[];
}

/**
 * CR, LF and CRLF end a line alike; empty lines are left out. What stands before the first end is thrown away: the
 * port was opened in the middle of it, and "73.4" may have been 1073.4. Of a line over the cap the first
 * `MAX_LINE_BYTES` are given at once and the rest thrown away. Bytes that are not UTF-8 become U+FFFD.
 */
export function lineSplitter(): LineSplitter {
  const line = Buffer.alloc(MAX_LINE_BYTES);
  let length = 0;
  let skipping = true;

  function take(bytes: Uint8Array, lines: string[]): void {
    if (skipping) return;
    const room = Math.min(bytes.length, MAX_LINE_BYTES - length);
    line.set(bytes.subarray(0, room), length);
    length += room;
    if (room < bytes.length) {
      lines.push(line.toString('utf8', 0, length));
      length = 0;
      skipping = true;
    }
  }

  function end(lines: string[]): void {
    if (!skipping && length > 0) lines.push(line.toString('utf8', 0, length));
    length = 0;
    skipping = false;
  }

  return {
    push(bytes) {
      const lines: string[] = [];
      let from = 0;
      while (from < bytes.length) {
        const to = nextEnd(bytes, from);
        if (to > from) take(bytes.subarray(from, to), lines);
        if (to < bytes.length) end(lines);
        from = to + 1;
      }
      return lines;
    },
  };
}

function nextEnd(bytes: Uint8Array, from: number): number {
  let at = from;
  while (at < bytes.length && bytes[at] !== LF && bytes[at] !== CR) at += 1;
  return at;
}
