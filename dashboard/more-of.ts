/** Where a place that scrolls sideways has more, decided away from the page. */
type Scrolled = { readonly scrollLeft: number; readonly clientWidth: number; readonly scrollWidth: number };

/** A pixel is rounding. */
const LEAST_PX = 2;

export function moreOf({ scrollLeft, clientWidth, scrollWidth }: Scrolled): 'after' | 'before' | 'both' | null {
  const after = scrollWidth - clientWidth - scrollLeft >= LEAST_PX;
  const before = scrollLeft >= LEAST_PX;
  return after && before ? 'both' : after ? 'after' : before ? 'before' : null;
}
