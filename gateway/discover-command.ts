/** The discover command: looks at a server and drafts a site file from it. What would be in the way is said before the server is asked. */
import { existsSync } from 'node:fs';
import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { discover } from '../src/discovery.ts';
import { Fault } from '../src/fault.ts';
import type { FoundChamber } from '../src/found.ts';
import type { DiscoverCommand } from './command-line.ts';
import { lookAt, type Look } from './opcua/discover.ts';
import { siteDraft } from './site-draft.ts';

/** What to say: the draft itself, or what was found and where the draft is. */
export async function discoverAnswer({ endpoint, security, policy, data, out }: DiscoverCommand): Promise<string> {
  if (out !== undefined && existsSync(out)) throw new Fault('conflict', `${out} is there already. Choose another file with --out.`);
  const server = { name: endpoint, endpoint, security, policy, skewToleranceS: 5 };
  const look = await lookAt(server, join(data, 'pki'));
  const chambers = discover(look.variables, look.conditions);
  const draft = siteDraft({ endpoint, security, policy, chambers });
  if (out === undefined) return draft;
  await writeFile(out, draft, { flag: 'wx' }).catch((error: unknown) => {
    throw new Fault('conflict', `${out} could not be written, or is there already. Choose another file with --out.`, error);
  });
  const next = `The draft is in ${out}. Go through the lines marked CHECK, then: glowfleet check --site ${out} --data ${data} --live`;
  return [...found(endpoint, look, chambers), next].join('\n');
}

function found(endpoint: string, look: Look, chambers: readonly FoundChamber[]): readonly string[] {
  const arrays = look.arrays > 0 ? ` (${look.arrays} arrays left out)` : '';
  const offers = look.offers.map((offer) => `${offer.security} ${offer.policy}`).join('; ');
  const first = `${endpoint} shows ${look.variables.length} variables${look.isCut ? ' and more than are read here' : ''}${arrays} and offers: ${offers}.`;
  if (chambers.length === 0)
    return [first, 'Nothing in it looks like a chamber. Is it the right server, and may an anonymous user see its tags?'];
  return [first, ...chambers.map(chamberLine)];
}

function chamberLine({ name, candidates, alarms, alarmWords, conditions, missing }: FoundChamber): string {
  const count = alarms.length + conditions.length;
  const words = alarmWords.length > 0 ? `, ${alarmWords.length} words of alarm bits to be named` : '';
  const lacks = missing.length === 0 ? '' : `; nothing found for ${missing.join(', ')}`;
  return `${name}: ${candidates.length} signals, ${count} alarm${count === 1 ? '' : 's'}${words}${lacks}`;
}
