import { expect, test } from 'vitest';
import { begin, feed, lid, reading } from './feeding.ts';

test('how the lid stood when the broker last heard of it is not taken for how it stands now', () => {
  const kept = feed(begin(), [reading(0, 20), { ...lid(5, false), retained: true }]);
  expect(kept.state.lid).toBeNull();
  expect(kept.state.rejectedCount).toBe(1);
  expect(feed(kept, [lid(10, false)]).state.lid?.open).toBe(false);
});
