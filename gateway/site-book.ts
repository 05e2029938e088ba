/**
 * The site file as it is in force, kept in the store beside the facts: what it says, which chambers belonged to the site when, and every difference
 * that was taken over, in words. So a change is noticed that was made while nobody ran, and a chamber that is gone keeps its history readable.
 */
import { createHash } from 'node:crypto';
import { siteFile, type SiteFile } from '../src/config.ts';
import { Fault } from '../src/fault.ts';
import { linkChange, type LinkChange } from '../src/link-need.ts';
import { siteDifference, type SiteChange } from '../src/site-difference.ts';
import { firstMembers, membersAfter, type Member } from '../src/site-members.ts';
import { droppedBetween, type Dropped } from '../src/unmapped.ts';
import type { Store } from './store/store.ts';

/** Not a chamber's id: those have no space. */
const SITE_SNAPSHOT = 'site file';
const MOST_KEPT = 100;
const MOST_AUDITED = 200;
const FORMAT = 1;

/** One taking over: when, at whose word, and what changed. */
export type SiteTaking = { readonly at: number; readonly by: string; readonly changes: readonly SiteChange[] };
export type SiteUpdate = { readonly changes: readonly SiteChange[]; readonly links: LinkChange; readonly dropped: readonly Dropped[] };

type Kept = {
  readonly format: typeof FORMAT;
  readonly site: SiteFile;
  readonly members: readonly Member[];
  readonly takings: readonly SiteTaking[];
};
type BookParts = { readonly store: Pick<Store, 'append' | 'snapshots'>; readonly site: SiteFile };

export class SiteBook {
  readonly #store: BookParts['store'];
  #site: SiteFile;
  #members: readonly Member[];
  #takings: readonly SiteTaking[] = [];

  constructor({ store, site }: BookParts) {
    this.#store = store;
    this.#site = site;
    this.#members = firstMembers(site);
  }

  get site(): SiteFile {
    return this.#site;
  }

  get members(): readonly Member[] {
    return this.#members;
  }

  /** Ids of chambers that were of the site before. */
  get former(): readonly string[] {
    return this.#members.filter(({ last }) => last !== null).map(({ id }) => id);
  }

  /** The same with the time until which each belonged to it. */
  get gone(): readonly { readonly chamber: string; readonly until: number }[] {
    return this.#members.flatMap(({ id, last, spans }) => (last === null ? [] : [{ chamber: id, until: spans.at(-1)?.until ?? 0 }]));
  }

  /** Newest first. */
  get takings(): readonly SiteTaking[] {
    return this.#takings.toReversed();
  }

  /** What changed since the site was last in force; null at the first start of a data folder. */
  async start(at: number): Promise<SiteUpdate | null> {
    const kept = await storedSite(this.#store);
    if (kept === null) return this.#save([], []).then(() => null);
    const next = this.#site;
    [this.#site, this.#members, this.#takings] = [kept.site, kept.members, kept.takings];
    return this.take(next, { at, by: 'the start' });
  }

  /** What another site file would change. */
  compare(next: SiteFile): SiteUpdate {
    return updateOf(this.#site, next);
  }

  /** Puts another site file in force: on disk when it resolves, and said in words in the audit. */
  async take(next: SiteFile, { at, by }: { readonly at: number; readonly by: string }): Promise<SiteUpdate> {
    const update = this.compare(next);
    this.#members = membersAfter(this.#members, { before: this.#site, after: next, at });
    this.#site = next;
    if (update.changes.length === 0) return update;
    await this.#save(
      [{ at, by, changes: update.changes }],
      update.changes.map(({ text }) => ({ at, who: by, deed: 'site file', subject: text })),
    );
    return update;
  }

  async #save(takings: readonly SiteTaking[], audit: readonly { at: number; who: string; deed: string; subject: string }[]): Promise<void> {
    this.#takings = [...this.#takings, ...takings].slice(-MOST_KEPT);
    const kept: Kept = { format: FORMAT, site: concealed(this.#site) as SiteFile, members: this.#members, takings: this.#takings };
    const snapshots = new Map([[SITE_SNAPSHOT, JSON.stringify(kept)]]);
    await this.#store.append({ events: [], snapshots, audit: audit.slice(0, MOST_AUDITED) });
  }
}

const updateOf = (before: SiteFile, after: SiteFile): SiteUpdate => ({
  changes: siteDifference(concealed(before) as object, concealed(after) as object),
  links: linkChange(before, after),
  dropped: droppedBetween(before, after),
});

/** What was in force last in a data folder; null where none was noted. */
export async function storedSite(store: Pick<Store, 'snapshots'>): Promise<Kept | null> {
  const text = (await store.snapshots()).get(SITE_SNAPSHOT);
  if (text === undefined) return null;
  const kept = JSON.parse(text) as Kept;
  if (kept.format > FORMAT)
    throw new Fault(
      'unreadable',
      'The data folder was written by a newer Glowfleet. Update this program, or choose another folder with --data.',
    );
  // What an older program did not know stands at its default.
  const known = siteFile.safeParse(kept.site);
  return known.success ? { ...kept, site: known.data } : kept;
}

/** What another file would change against what was in force last. */
export const differenceToStored = (kept: Kept, next: SiteFile): SiteUpdate => updateOf(kept.site, next);

/** A user, password, path or query of an address may be a secret: it is kept only as a digest, by which a change of it is still seen. */
function concealed(value: unknown): unknown {
  if (typeof value === 'string') return concealedText(value);
  if (Array.isArray(value)) return value.map(concealed);
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(Object.entries(value).map(([key, inner]) => [key, concealed(inner)]));
}

function concealedText(text: string): string {
  const address = /^(https?|smtps?):\/\/(?:[^/?#]*@)?([^/?#]*)/i.exec(text);
  if (address === null || text.includes('#kept-')) return text;
  const digest = createHash('sha256').update(text, 'utf8').digest('hex').slice(0, 12);
  return `${address[1]}://${address[2]}/#kept-${digest}`;
}
