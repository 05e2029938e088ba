/** Which page is shown, from the address alone: links are real links, the back button works, a reload stays. */
import { pageOf, type Page } from './page-address.ts';

export class Route {
  #path = $state.raw('/');
  #search = $state.raw('');

  get page(): Page {
    return pageOf(this.#path, this.#search);
  }

  start(): void {
    this.#follow();
    addEventListener('popstate', this.#follow);
    addEventListener('click', this.#click);
  }

  stop(): void {
    removeEventListener('popstate', this.#follow);
    removeEventListener('click', this.#click);
  }

  #follow = (): void => {
    [this.#path, this.#search] = [location.pathname, location.search];
  };

  #click = (event: MouseEvent): void => {
    const link = event.target instanceof Element ? event.target.closest('a') : null;
    if (!link || event.defaultPrevented || event.button !== 0 || event.metaKey || event.ctrlKey || event.shiftKey || event.altKey) return;
    if (link.origin !== location.origin || link.target || link.hasAttribute('download') || link.pathname.startsWith('/api')) return;
    event.preventDefault();
    history.pushState(null, '', link.href);
    [this.#path, this.#search] = [link.pathname, link.search];
    scrollTo(0, 0);
  };
}
