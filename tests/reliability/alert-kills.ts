/**
 * node tests/reliability/alert-kills.ts [--kills 200] [--seed 1] [--report docs/delivery.md]: kills the gateway's memory with -9 at random
 * moments while alerts fire and receivers misbehave, prints what became of the messages, and writes it into the report between its marks.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { killRun, type KillResult } from './kill-run.ts';

const { values } = parseArgs({
  options: { kills: { type: 'string', default: '200' }, seed: { type: 'string', default: '1' }, report: { type: 'string' } },
});
const [kills, seed] = [Number(values.kills), Number(values.seed)];
const [BEGIN, END] = ['<!-- kills -->', '<!-- end of kills -->'];

const result = await killRun({
  kills,
  seed,
  onKill: ({ kill, alerts, faults }) =>
    kill % 10 === 0 && console.log(`${kill} kills, ${alerts} alerts, ${faults.join('; ') || 'no fault'}`),
});
const text = told(result);
console.log(text);
if (values.report !== undefined) writeReport(values.report, text);
process.exitCode = result.faults.length === 0 ? 0 : 1;

function told({ alerts, told: facts, delivery, faults }: KillResult): string {
  const rows: readonly (readonly [string, number])[] = [
    ['kills with -9', kills],
    ['facts told before a kill, none lost', facts],
    ['alerts raised', alerts],
    ['messages that reached a receiver', delivery.messages],
    ['of these digests', delivery.digests],
    ['copies that arrived once more, each with the key of the first', delivery.doubles],
    ['times that a receiver read a message and then failed', delivery.halfHeard],
    ['messages spared, each with its reason', delivery.spared],
    ['alerts lost, messages lost, keys that differ, messages nobody committed', faults.length],
  ];
  return [`Seed ${seed}.`, '', '| what | count |', '| --- | ---: |', ...rows.map(([what, count]) => `| ${what} | ${count} |`)].join('\n');
}

function writeReport(file: string, table: string): void {
  const before = readFileSync(file, 'utf8');
  const [from, to] = [before.indexOf(BEGIN), before.indexOf(END)];
  if (from < 0 || to < from) throw new Error(`${file} has no marks ${BEGIN} and ${END}`);
  writeFileSync(file, `${before.slice(0, from + BEGIN.length)}\n${table}\n${before.slice(to)}`);
}
