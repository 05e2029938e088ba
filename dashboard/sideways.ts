/** A place that scrolls sideways says which way there is more: `data-more` is 'after', 'before' or 'both', for the fade and the word of page.css. */
import { moreOf } from './more-of.ts';

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
