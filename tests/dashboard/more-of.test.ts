import { expect, test } from 'vitest';
import { moreOf } from '../../dashboard/more-of.ts';

test.each([
  ['all of it fits', 0, 300, null],
  ['it ends to the right', 0, 500, 'after'],
  ['it was scrolled to its end', 200, 500, 'before'],
  ['it stands in the middle', 100, 500, 'both'],
  ['a pixel is rounding', 0, 301, null],
] as const)('a place that scrolls sideways says where there is more: %s', (_what, scrollLeft, scrollWidth, more) => {
  expect(moreOf({ scrollLeft, clientWidth: 300, scrollWidth })).toBe(more);
});
