/**
 * What somebody in front of the screen gets: pages in headless Chromium that note when a tile or a value was drawn. "Drawn" is the first
 * frame after the change of the document, as near to the pixel as a page can look.
 */
import { setTimeout as wait } from 'node:timers/promises';
import { chromium, type Browser, type CDPSession, type Page } from 'playwright-core';

export type Seen = { readonly key: string; readonly at: number };
/** What came over the wire so far, compressed as it came: the page's files, and the socket's messages. */
export type Bytes = { readonly files: number; readonly socket: number };
/** `seen` grows. */
export type Opened = { readonly page: Page; readonly seen: readonly Seen[]; readonly bytes: () => Bytes };

const CHROMIUM = process.env['CHROMIUM_PATH'] ?? process.env['CHROMIUM'] ?? '/usr/bin/chromium';
const VIEW = { width: 1920, height: 1080 };
const LONGEST_MS = 60_000;

/**
 * Runs in the page and tells: `live` at the first tile that shows a heard chamber, `<chamber> on` and `off` with a tile's alarm, and
 * `pressure <number>` with the words over the pressure chart.
 */
const WATCH = `
  const last = new Map();
  const note = (of, key) => {
    if (last.get(of) === key) return;
    last.set(of, key);
    requestAnimationFrame(() => setTimeout(() => window.noteSeen({ key, at: Date.now() })));
  };
  const look = () => {
    for (const tile of document.querySelectorAll('.tile')) {
      if (tile.dataset.tone !== 'dead') note('live', 'live');
      note(tile.dataset.chamber, tile.dataset.chamber + (tile.querySelector('.alarm') ? ' on' : ' off'));
    }
    const pressure = document.querySelector('section.charts figure figcaption b');
    if (pressure) {
      note('live', 'live');
      note('pressure', 'pressure ' + parseFloat(pressure.textContent));
    }
  };
  new MutationObserver(look).observe(document, { subtree: true, childList: true, characterData: true, attributes: true, attributeFilter: ['data-tone'] });
`;

export class Screen {
  #browser: Browser | null = null;

  async start(): Promise<void> {
    this.#browser = await chromium.launch({ executablePath: CHROMIUM, args: ['--no-sandbox'] });
  }

  /** Watched from the first byte on. */
  async open(url: string): Promise<Opened> {
    const page = await (this.#browser as Browser).newPage({ viewport: VIEW });
    const session = await page.context().newCDPSession(page);
    const bytes = await countBytes(session);
    const seen: Seen[] = [];
    await page.exposeFunction('noteSeen', (one: Seen) => void seen.push(one));
    await page.addInitScript({ content: WATCH });
    await page.goto(url, { waitUntil: 'commit' });
    return { page, seen, bytes };
  }

  async stop(): Promise<void> {
    await this.#browser?.close();
  }
}

/** Epoch ms at which the key was first drawn. */
export async function whenSeen({ seen }: Opened, key: string): Promise<number> {
  for (const end = performance.now() + LONGEST_MS; performance.now() < end; await wait(20)) {
    const sight = seen.find((one) => one.key === key);
    if (sight) return sight.at;
  }
  throw new Error(`"${key}" was not drawn within ${LONGEST_MS / 1000} s`);
}

async function countBytes(session: CDPSession): Promise<() => Bytes> {
  let [files, socket] = [0, 0];
  await session.send('Network.enable');
  session.on('Network.loadingFinished', ({ encodedDataLength }) => (files += encodedDataLength));
  session.on('Network.webSocketFrameReceived', ({ response }) => (socket += response.payloadData.length));
  return () => ({ files, socket });
}
