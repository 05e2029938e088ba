/**
 * node tests/reliability/kill-program.ts [kills = 50] [seed = 1]: kills the whole program with -9, every process of it, at random moments while
 * the demo fleet runs at 60 times its pace over OPC UA, and prints what became of the books. Told is what its HTTP interface said.
 */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { eventId, type StoredEvent } from '../../src/event.ts';
import { startProgram, type Program } from '../e2e/program.ts';
import { faultsOf, readBooks } from './book-faults.ts';
import { seededRandom } from './kill-run.ts';

const SPEED = 60;
const MOST_AT_ONCE = 1000;
const [kills = 50, seed = 1] = process.argv.slice(2).map(Number);
const random = seededRandom(seed);
const folder = mkdtempSync(join(tmpdir(), 'glowfleet kill '));
const told = new Map<number, string>();
const site = siteWithRoute();
let [from, failed] = [0, 0];

console.log('kill   alive ms   told so far   in the store   runs ended   alerts   faults');
for (let kill = 1; kill <= kills; kill++) {
  const program = await startProgram({ data: folder, speed: SPEED, seed, more: ['--site', site] });
  const lifeMs = 500 + random() * 6_000;
  await listen(program, performance.now() + lifeMs);
  await program.kill();
  const books = readBooks(folder);
  from ||= Math.min(...books.events.map(({ at }) => at));
  const faults = faultsOf(books, told, from);
  failed += faults.length;
  const ended = books.events.filter(({ kind }) => kind === 'run-ended').length;
  const columns = [kill, Math.round(lifeMs), told.size, books.events.length, ended, books.outbox.alerts.length];
  console.log(
    `${columns.map((value, i) => String(value).padStart([4, 11, 14, 15, 13, 9][i] ?? 8)).join('')}   ${faults.join('; ') || 'none'}`,
  );
}
console.log(`${kills} kills of the whole program (seed ${seed}): ${told.size} facts told, ${failed} faults`);
rmSync(folder, { recursive: true, force: true, maxRetries: 5, retryDelay: 200 });
process.exitCode = failed === 0 ? 0 : 1;

/** The demo's site with one way to tell people, by which nobody answers: every message stays on its way, and is looked for there. */
function siteWithRoute(): string {
  const file = join(folder, 'site.yaml');
  const route = 'alerts:\n  routes:\n    - { name: hook, type: webhook, url: "http://127.0.0.1:9/", allowPrivate: true }\n';
  const demo = readFileSync(join(import.meta.dirname, '../../gateway/simulator/quellmoor.yaml'), 'utf8');
  writeFileSync(file, demo.replace(/^alerts:\n/m, route));
  return file;
}

/** Follows the facts as they are told, until the end. */
async function listen({ url }: Program, until: number): Promise<void> {
  let after = Math.max(0, ...told.keys());
  while (performance.now() < until) {
    const answer = await fetch(`${url}/api/events?after=${after}&limit=${MOST_AT_ONCE}`);
    if (!answer.ok) throw new Error(`${answer.status} ${await answer.text()}`);
    for (const event of (await answer.json()) as StoredEvent[]) told.set((after = event.seq), eventId(event));
    await new Promise((done) => setTimeout(done, 50));
  }
}
