/**
 * How many alerts a hall tells on a day without an ordered fault: chambers that wear, fail and are repaired, links that drop now and then, people
 * who come late, and nothing else. `node tests/accuracy/alerts-per-day.ts [weeks] [seed ...]` prints the table; `--write` puts it into
 * docs/alerts.md. Five weeks go before those counted: baselines and drift are learned from them.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { ALERT_KINDS, type Alert } from '../../src/contract.ts';
import { alertsOf, DAY, driftLook, fleetFacts } from './fleet-days.ts';

const FILE = 'docs/alerts.md';
const MONDAY = Date.UTC(2026, 9, 4, 22);
const LEARNED_DAYS = 35;

type Counted = { readonly seed: number; readonly alerts: readonly Alert[] };

async function counted(seed: number, weeks: number): Promise<Counted> {
  const days = LEARNED_DAYS + 7 * weeks;
  const facts = await fleetFacts({ seed, from: MONDAY, days });
  const from = MONDAY + LEARNED_DAYS * DAY;
  return { seed, alerts: await alertsOf(facts, { from, to: MONDAY + days * DAY, look: driftLook(facts) }) };
}

/** Told on their own, and parts of a wider one, per day of the calendar. */
export function table(all: readonly Counted[], days: number): string {
  const told = (kind: Alert['kind'] | null, { alerts }: Counted): number =>
    alerts.filter((alert) => alert.partOf === null && (kind === null || alert.kind === kind)).length;
  const row = (label: string, numbers: readonly number[]): string =>
    `| ${label} | ${numbers.map((count) => (count / days).toFixed(2)).join(' | ')} | ${(sum(numbers) / days / all.length).toFixed(2)} |`;
  const kinds = ALERT_KINDS.filter((kind) => all.some((one) => told(kind, one) > 0));
  const busiest = Math.max(...all.flatMap(({ alerts }) => perDay(alerts)));
  return [
    `| told per day | ${all.map(({ seed }) => `seed ${seed}`).join(' | ')} | mean |`,
    `| --- |${' ---: |'.repeat(all.length + 1)}`,
    ...kinds.map((kind) =>
      row(
        kind,
        all.map((one) => told(kind, one)),
      ),
    ),
    row(
      '**all**',
      all.map((one) => told(null, one)),
    ),
    '',
    `${all.length} halls of 12 chambers, ${days} days each; the busiest day told ${busiest}.`,
  ].join('\n');
}

const sum = (numbers: readonly number[]): number => numbers.reduce((total, number) => total + number, 0);

function perDay(alerts: readonly Alert[]): readonly number[] {
  const days = Map.groupBy(
    alerts.filter(({ partOf }) => partOf === null),
    ({ startedAt }) => Math.floor((startedAt - MONDAY) / DAY),
  );
  return [0, ...[...days.values()].map((day) => day.length)];
}

if (import.meta.main) {
  const { values, positionals } = parseArgs({ allowPositionals: true, options: { write: { type: 'boolean' } } });
  const [weeks = 2, ...seeds] = positionals.map(Number);
  const all: Counted[] = [];
  for (const seed of seeds.length > 0 ? seeds : [1, 2, 3]) all.push(await counted(seed, weeks));
  const text = table(all, 7 * weeks);
  console.log(text);
  if (values.write === true) {
    const page = readFileSync(FILE, 'utf8');
    writeFileSync(
      FILE,
      page.replace(/(<!-- measured -->\n)[\s\S]*(\n<!-- \/measured -->)/, (_, open: string, close: string) => open + text + close),
    );
  }
}
