/** How soon a hand is wanted: told by shape, word and colour together (D4). */
import type { Priority } from './wire-types.ts';

interface BadgeProps {
  readonly priority: Priority;
  readonly word: string;
}

/** `now` is no small sign beside a word: the word stands within the eight sides, which the style sheet cuts. */
const shapes: Readonly<Record<Priority, string | null>> = {
  now: null,
  soon: 'M12 2L23.5 22H0.5Z',
  note: 'M12 2.5A9.5 9.5 0 1 1 12 21.5A9.5 9.5 0 1 1 12 2.5Z',
};

export function Badge({ priority, word }: BadgeProps) {
  const shape = shapes[priority];
  return (
    <span class={`badge badge-${priority}`}>
      {shape !== null && (
        <svg viewBox="0 0 24 24" aria-hidden="true" focusable="false">
          <path d={shape} />
        </svg>
      )}
      <span>{word}</span>
    </span>
  );
}
