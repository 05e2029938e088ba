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
/** A story of its own each: checking books that grow for ever would be the most of the work. */
const KILLS_PER_STORY = 25;

const results: KillResult[] = [];
for (let done = 0; done < kills; done += KILLS_PER_STORY) {
  const result = await killRun({ kills: Math.min(KILLS_PER_STORY, kills - done), seed: seed + results.length });
  results.push(result);
  console.log(`${done + result.rows.length} kills: ${JSON.stringify({ ...result.delivery, faults: result.faults })}`);
}
const faults = results.flatMap((result) => result.faults);
const text = told();
console.log(text);
if (values.report !== undefined) writeReport(values.report, text);
process.exitCode = faults.length === 0 ? 0 : 1;

function told(): string {
  const sum = (count: (result: KillResult) => number): number => results.reduce((total, result) => total + count(result), 0);
  const delivered = (name: Exclude<keyof KillResult['delivery'], 'faults'>): number => sum(({ delivery }) => delivery[name]);
  const rows: readonly (readonly [string, number])[] = [
    ['kills with -9', kills],
    ['facts told before a kill, none lost', sum((result) => result.told)],
    ['alerts raised', sum((result) => result.alerts)],
    ['messages that reached a receiver', delivered('messages')],
    ['of these digests', delivered('digests')],
    ['copies that arrived once more, each with the key of the first', delivered('doubles')],
    ['times that a receiver read a message and then failed', delivered('halfHeard')],
    ['messages spared, each with its reason', delivered('spared')],
    ['alerts lost, messages lost, keys that differ, messages nobody committed', faults.length],
  ];
  const stories = `Seeds ${seed} to ${seed + results.length - 1}, ${KILLS_PER_STORY} kills each.`;
  return [stories, '', '| what | count |', '| --- | ---: |', ...rows.map(([what, count]) => `| ${what} | ${count} |`)].join('\n');
}

function writeReport(file: string, table: string): void {
  const before = readFileSync(file, 'utf8');
  const [from, to] = [before.indexOf(BEGIN), before.indexOf(END)];
  if (from < 0 || to < from) throw new Error(`${file} has no marks ${BEGIN} and ${END}`);
  writeFileSync(file, `${before.slice(0, from + BEGIN.length)}\n${table}\n${before.slice(to)}`);
}
