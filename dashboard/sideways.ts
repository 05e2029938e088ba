/** A place that scrolls sideways says which way there is more: `data-more` is 'after', 'before' or 'both', for the fade and the word of page.css. */
type Scrolled = Pick<HTMLElement, 'scrollLeft' | 'clientWidth' | 'scrollWidth'>;

/** A pixel is rounding. */
const LEAST_PX = 2;

export function moreOf({ scrollLeft, clientWidth, scrollWidth }: Scrolled): 'after' | 'before' | 'both' | null {
  const after = scrollWidth - clientWidth - scrollLeft >= LEAST_PX;
  const before = scrollLeft >= LEAST_PX;
  return after && before ? 'both' : after ? 'after' : before ? 'before' : null;
}

/** For `{@attach sideways}`. */
export function sideways(place: HTMLElement): () => void {
  const mark = (): void => {
    const more = moreOf(place);
    if (more === null) delete place.dataset['more'];
    else place.dataset['more'] = more;
  };
  const sizes = new ResizeObserver(mark);
  for (const element of [place, ...place.children]) sizes.observe(element);
  place.addEventListener('scroll', mark, { passive: true });
  return () => {
    sizes.disconnect();
    place.removeEventListener('scroll', mark);
  };
}
