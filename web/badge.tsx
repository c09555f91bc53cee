/** How soon a hand is wanted: told by shape, word and colour together (D4). */
import type { Priority } from '../daemon/core/events.ts';

interface BadgeProps {
  readonly priority: Priority;
  readonly word: string;
}

const shapes: Readonly<Record<Priority, string>> = {
  now: 'M7 1H17L23 7V17L17 23H7L1 17V7Z',
  soon: 'M12 2L23.5 22H0.5Z',
  note: 'M12 2.5A9.5 9.5 0 1 1 12 21.5A9.5 9.5 0 1 1 12 2.5Z',
};

export function Badge({ priority, word }: BadgeProps) {
  return (
    <span class={`badge badge-${priority}`}>
      <svg viewBox="0 0 24 24" aria-hidden="true" focusable="false">
        <path d={shapes[priority]} />
      </svg>
      <span>{word}</span>
    </span>
  );
}
