/** What a site file would change of what a gateway has in force, for the command line: read from the data folder, also while a gateway uses it. */
import { Fault } from '../src/fault.ts';
import type { SiteFile } from '../src/config.ts';
import { differenceToStored, storedSite, type SiteUpdate } from './site-book.ts';
import { readSqlite } from './store/sqlite.ts';

export async function checkDifference(site: SiteFile, folder: string): Promise<SiteUpdate> {
  const store = await readSqlite(folder);
  try {
    const kept = await storedSite(store);
    if (kept === null) throw new Fault('not-found', `No site file was in force in ${folder} yet. Start a gateway with it first.`);
    return differenceToStored(kept, site);
  } finally {
    await store.close();
  }
}

export function differenceText({ changes, links }: SiteUpdate): string {
  if (changes.length === 0) return 'It says what is in force already: nothing would change.';
  const of = (names: readonly string[], words: string): string[] => (names.length === 0 ? [] : [`${words} ${names.join(', ')}.`]);
  return [
    ...changes.map(({ text }) => text),
    ...of(links.renewed, 'The links that would start anew:'),
    ...of(links.begun, 'The links that would begin:'),
    ...of(links.ended, 'The links that would end:'),
    ...of(links.kept, 'Not touched:'),
  ].join('\n');
}
