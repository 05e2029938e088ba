/**
 * Measurements taken inside the page, where layout and fonts are real. Every function here runs in the browser: it may use nothing outside
 * itself. Contrast after WCAG 2.2 (relative luminance of sRGB); cap height from the glyph H of the font that was really loaded.
 */
export type TextBox = {
  readonly text: string;
  readonly tile: string;
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
};

/** Text that is cut off, leaves its tile, or lies over other text. Empty is good. */
export function textFaults(scope: string): string[] {
  const faults: string[] = [];
  for (const box of document.querySelectorAll<HTMLElement>(scope)) {
    const outer = box.getBoundingClientRect();
    const texts: { text: string; left: number; top: number; right: number; bottom: number }[] = [];
    const walker = document.createTreeWalker(box, NodeFilter.SHOW_TEXT);
    while (walker.nextNode()) {
      const node = walker.currentNode as Text;
      const holder = node.parentElement!;
      if (!node.data.trim() || holder.closest('.unseen, svg')) continue;
      const range = document.createRange();
      range.selectNodeContents(node);
      // A plant's own text may be as long as it likes: it may end in an ellipsis, but stays in its box and pushes nothing else.
      const isPlantText = holder.matches('.alarm, .what') && getComputedStyle(holder).textOverflow === 'ellipsis';
      const { left, top, right: reach, bottom, width } = range.getBoundingClientRect();
      const right = isPlantText ? Math.min(reach, holder.getBoundingClientRect().right) : reach;
      if (width === 0) continue;
      const label = `${box.dataset['chamber'] ?? scope}: “${node.data.trim()}”`;
      const isCut = holder.scrollWidth > holder.clientWidth + 1 && getComputedStyle(holder).overflow === 'hidden';
      if (isCut && !isPlantText) faults.push(`${label} is cut off`);
      if (left < outer.left - 1 || right > outer.right + 1 || top < outer.top - 1 || bottom > outer.bottom + 1)
        faults.push(`${label} leaves its place`);
      // The letters fill about the middle three fifths of their line.
      const inset = (bottom - top) * 0.2;
      texts.push({ text: label, left, right, top: top + inset, bottom: bottom - inset });
    }
    texts.forEach((a, i) =>
      texts.slice(i + 1).forEach((b) => {
        if (Math.min(a.right, b.right) - Math.max(a.left, b.left) > 1 && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 1)
          faults.push(`${a.text} lies over ${b.text}`);
      }),
    );
  }
  return faults;
}

/** Height in CSS px of a capital H in each element's own lettering. */
export function capHeights(selector: string): number[] {
  const pen = document.createElement('canvas').getContext('2d')!;
  return [...document.querySelectorAll<HTMLElement>(selector)].map((element) => {
    const style = getComputedStyle(element);
    pen.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
    return pen.measureText('H').actualBoundingBoxAscent;
  });
}

/** Texts whose contrast with what lies behind them is under 4.5, with their ratio. Of a hatched ground the worse of its inks counts. */
export function poorContrast(least: number): string[] {
  type Colour = [number, number, number];
  const colours = (text: string): Colour[] =>
    [...text.matchAll(/rgba?\(([^)]+)\)/g)]
      .map((m) => m[1]!.split(/[,\s/]+/).map(Number))
      .filter((c) => c[3] === undefined || c[3] > 0.5)
      .map((c) => [c[0]!, c[1]!, c[2]!]);
  const light = ([r, g, b]: Colour): number => {
    const line = (c: number): number => (c / 255 <= 0.04045 ? c / 255 / 12.92 : ((c / 255 + 0.055) / 1.055) ** 2.4);
    return 0.2126 * line(r) + 0.7152 * line(g) + 0.0722 * line(b);
  };
  const ratio = (a: Colour, b: Colour): number => (Math.max(light(a), light(b)) + 0.05) / (Math.min(light(a), light(b)) + 0.05);
  const grounds = (element: Element): Colour[] => {
    for (let at: Element | null = element; at; at = at.parentElement) {
      const style = getComputedStyle(at);
      const found = [...colours(style.backgroundImage), ...colours(style.backgroundColor)];
      if (found.length > 0) return found;
    }
    return [[255, 255, 255]];
  };
  const faults: string[] = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const node = walker.currentNode as Text;
    const holder = node.parentElement!;
    if (!node.data.trim() || holder.closest('.unseen, script, style, title') || holder.getClientRects().length === 0) continue;
    const style = getComputedStyle(holder);
    const ink = colours(holder.closest('svg') ? style.fill : style.color)[0];
    if (!ink) continue;
    const worst = Math.min(...grounds(holder).map((ground) => ratio(ink, ground)));
    if (worst < least) faults.push(`“${node.data.trim().slice(0, 40)}” ${worst.toFixed(2)}`);
  }
  return [...new Set(faults)];
}

/** The least contrast of ribbons: what is past against what is ahead, and against the tile. */
export function ribbonContrasts(): { tone: string; pastToAhead: number; pastToGround: number }[] {
  const colour = (text: string): number[] =>
    text
      .match(/[\d.]+/g)!
      .slice(0, 3)
      .map(Number);
  const light = (c: number[]): number => {
    const line = (v: number): number => (v / 255 <= 0.04045 ? v / 255 / 12.92 : ((v / 255 + 0.055) / 1.055) ** 2.4);
    return 0.2126 * line(c[0]!) + 0.7152 * line(c[1]!) + 0.0722 * line(c[2]!);
  };
  const ratio = (a: number[], b: number[]): number => (Math.max(light(a), light(b)) + 0.05) / (Math.min(light(a), light(b)) + 0.05);
  return [...document.querySelectorAll<HTMLElement>('.tile')].flatMap((tile) => {
    const piece = tile.querySelector('.piece');
    const past = tile.querySelector('.past');
    if (!piece || !past) return [];
    const inks = [past, piece, tile].map((e) => colour(getComputedStyle(e).backgroundColor)) as [number[], number[], number[]];
    return [{ tone: tile.dataset['tone']!, pastToAhead: ratio(inks[0], inks[1]), pastToGround: ratio(inks[0], inks[2]) }];
  });
}

/** Links, buttons and fields smaller than 24 px in one direction. */
export function smallTargets(part = 'body'): string[] {
  return [...document.querySelectorAll<HTMLElement>(`${part} :is(a, button, input)`)]
    .filter((e) => e.getClientRects().length > 0 && !e.closest('p, label'))
    .map((e) => ({ e, r: e.getBoundingClientRect() }))
    .filter(({ r }) => r.width < 24 || r.height < 24)
    .map(({ e, r }) => `${e.textContent?.trim() ?? e.tagName} ${Math.round(r.width)}×${Math.round(r.height)}`);
}

/** Cells, terms and large print that hold a number which does not open; published targets, times of day and what leads elsewhere are none. */
export function bareNumbers(): string[] {
  const isFigure = (e: Element): boolean => e.querySelector('[data-figure]') !== null || e.closest('[data-figure]') !== null;
  return [...document.querySelectorAll<HTMLElement>('td.n, dd, .figures b, .dose, .sum b, .today b, .run b, .usual, .stop .long')]
    .filter((e) => /\d/.test(e.textContent ?? '') && !isFigure(e) && !e.closest('a, button, .target, .now dd, .causes'))
    .map((e) => `${e.closest('section')?.getAttribute('aria-label')}: ${e.textContent?.trim().replace(/\s+/g, ' ').slice(0, 60)}`);
}
