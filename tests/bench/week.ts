/**
 * The weekly summary of a year: all figures of every week and chamber by src/, cold, beside DuckDB computing its sums from the same rows in the
 * same run; and how the time grows with the fleet. The sums are compared and must be equal to the millisecond.
 *
 *   npm run bench -- week [docs/benchmark-week.md]
 */
import { loadavg, cpus } from 'node:os';
import { writeFile } from 'node:fs/promises';
import { format } from 'prettier';
import { type Calendar, nonscheduled } from '../../src/calendar.ts';
import { duckdb, duckSums, loaded } from './week-duckdb.ts';
import { rowsOf, type Rows } from './week-rows.ts';
import { addSums, namesOf, sumsAlone, weekNumbers, type WeekSums, weeksOf } from './week-sums.ts';

const WEEKS = 52;
const FLEETS = [10, 50, 200, 500] as const;
const DAY_MS = 86_400_000;
const CALENDAR: Calendar = {
  zone: 'Europe/Berlin',
  shifts: [
    { name: 'Early', days: ['mon', 'tue', 'wed', 'thu', 'fri', 'sat'], from: '06:00', to: '14:00' },
    { name: 'Late', days: ['mon', 'tue', 'wed', 'thu', 'fri'], from: '14:00', to: '22:00' },
    { name: 'Night', days: ['mon', 'tue', 'wed', 'thu', 'fri'], from: '22:00', to: '06:00' },
  ],
  holidays: [],
};

/** Seconds on the clock and of processors. */
type Cost = { readonly wallMs: number; readonly cpuMs: number };
type Line = {
  readonly chambers: number;
  readonly states: number;
  readonly runs: number;
  readonly whole: Cost;
  readonly alone: Cost;
  readonly duck: Cost;
};

const weeks = weeksOf(CALENDAR, 2026, WEEKS);
const [from, to] = [(weeks[0] as { from: number }).from - 3 * DAY_MS, (weeks.at(-1) as { to: number }).to + 3 * DAY_MS];
const free = nonscheduled(CALENDAR, from, to);
const duck = await duckdb();
const loadBefore = loadavg()[0] ?? 0;
const lines: Line[] = [];
for (const chambers of FLEETS) lines.push(await measured(rowsOf(chambers, from, to)));
const page = pageOf(lines);
console.log(page);
const file = process.argv[2];
if (file !== undefined) await writeFile(file, await format(page, { parser: 'markdown' }));
process.exit(0);

async function measured(rows: Rows): Promise<Line> {
  const connection = await loaded(duck, rows, { weeks, free });
  const [theirs, duckCost] = await timed(() => duckSums(connection, rows.to));
  const [alone, aloneCost] = await timed(() => summed(rows, sumsAlone));
  compare(alone, theirs);
  const [whole, wholeCost] = await timed(() => summed(rows, weekNumbers));
  compare(whole, theirs);
  const line = {
    chambers: rows.chambers,
    states: rows.states.count,
    runs: rows.runs.count,
    whole: wholeCost,
    alone: aloneCost,
    duck: duckCost,
  };
  console.log(rowOf(line));
  return line;
}

type Made = Parameters<typeof addSums>[2];
type Of = (rows: Rows, names: readonly string[], week: { window: (typeof weeks)[number]; calendar: Calendar }) => Made;

function summed(rows: Rows, of: Of): WeekSums {
  const sums: WeekSums = new Map();
  const names = namesOf(rows);
  weeks.forEach((window, week) => addSums(sums, week, of(rows, names, { window, calendar: CALENDAR })));
  return sums;
}

async function timed<T>(work: () => T | Promise<T>): Promise<[T, Cost]> {
  const [cpu, wall] = [process.cpuUsage(), performance.now()];
  const made = await work();
  const { user, system } = process.cpuUsage(cpu);
  return [made, { wallMs: performance.now() - wall, cpuMs: (user + system) / 1000 }];
}

function compare(ours: WeekSums, theirs: WeekSums): void {
  const wrong = [...new Set([...ours.keys(), ...theirs.keys()])].filter((key) => ours.get(key) !== theirs.get(key));
  const shown = wrong.slice(0, 5).map((key) => `${key}: ${ours.get(key)} against ${theirs.get(key)}`);
  if (wrong.length > 0) throw new Error(`${wrong.length} of ${ours.size} sums differ: ${shown.join('; ')}`);
  console.log(`${ours.size} sums are equal`);
}

function rowOf({ chambers, states, runs, whole, alone, duck: theirs }: Line): string {
  const said = ({ wallMs, cpuMs }: Cost): string => `${(wallMs / 1000).toFixed(2)} s (${(cpuMs / 1000).toFixed(2)})`;
  const ratio = (ours: Cost): string => `${(ours.wallMs / theirs.wallMs).toFixed(2)} (${(ours.cpuMs / theirs.cpuMs).toFixed(2)})`;
  const cells = [
    chambers,
    states.toLocaleString('en'),
    runs.toLocaleString('en'),
    said(theirs),
    said(alone),
    ratio(alone),
    said(whole),
    ratio(whole),
  ];
  return `| ${[...cells, `${((1000 * whole.wallMs) / (chambers * WEEKS)).toFixed(0)} µs`].join(' | ')} |`;
}

function pageOf(all: readonly Line[]): string {
  const machine = `${cpus().length} cores (${cpus()[0]?.model.trim() ?? ''}), Node ${process.versions.node}`;
  return `# Benchmark of the week

\`npm run bench -- week docs/benchmark-week.md\` measures anew and writes this page. The first run installs DuckDB into \`tests/bench/duckdb/\`; the product does not need it.

| chambers | state rows | run rows | DuckDB, its sums | src, the same sums | ratio | src, all figures of the week | ratio | all of a chamber's week |
| --- | --- | --- | --- | --- | --- | --- | --- | --- |
${all.map(rowOf).join('\n')}

${new Date().toISOString().slice(0, 10)}, ${machine}, load average ${loadBefore.toFixed(1)} before, ${(loadavg()[0] ?? 0).toFixed(1)} after.

## How to read it

- ${WEEKS} weeks of each fleet. Seconds on the clock, in brackets seconds of processors; DuckDB uses two threads, \`src/\` one.
- Cold: nothing was computed before and nothing is kept. Both have the rows in memory: DuckDB in its tables, \`src/\` as columns that are turned into facts week by week, as the gateway reads its store. Loading is not measured on either side; making the facts is, on ours.
- The same sums: hours by state with the calendar laid over, loads, process times and whole cycles by recipe. They are compared and are equal to the millisecond.
- All figures: the same function as the week page, which also makes failures with bounds, waiting, cycles taken apart, percentiles, shares, OEE and shifts, by chamber and fleet.
- The page of one week costs a ${WEEKS}th of a line, and is kept until a late fact falls into the week.
`;
}
