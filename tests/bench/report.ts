/** The benchmark's table: each measured value beside its baseline of the same run, as text and as a page. */
import { writeFile } from 'node:fs/promises';
import { arch, cpus, platform } from 'node:os';
import type { Latency, Spread } from './latency.ts';
import type { Cost } from './rig.ts';

export type Fleet = {
  readonly chambers: number;
  readonly cost: Cost;
  readonly times: Latency;
  readonly addressMs: number;
  readonly firstPaintMs: number;
  readonly paintAgainMs: number;
  readonly pageBytes: number;
};
export type Measured = {
  readonly fleets: readonly Fleet[];
  readonly hurried: Cost & { readonly chambers: number; readonly hz: number };
  /** Load average of a minute, before and after. */
  readonly loads: readonly [number, number];
  readonly tookMs: number;
};
type Row = readonly [what: string, value: string, baseline: string, ratio: string];

const HEAD: Row = ['measured', 'Glowfleet', 'baseline of the same run', 'ratio'];
const MB = 1e6;

export function printed(measured: Measured): string {
  const rows = [HEAD, ...rowsOf(measured)];
  const widths = HEAD.map((_, column) => Math.max(...rows.map((row) => (row[column] as string).length)));
  const lines = rows.map((row) => row.map((cell, column) => cell.padEnd(widths[column] as number)).join('  '));
  return ['', ...lines, '', conditions(measured)].join('\n');
}

export async function written(file: string, measured: Measured): Promise<void> {
  const row = (cells: readonly string[]): string => `| ${cells.join(' | ')} |`;
  const table = [row(HEAD), row(['---', '---', '---', '---']), ...rowsOf(measured).map(row)].join('\n');
  await writeFile(file, `${INTRODUCTION}\n${table}\n\n${conditions(measured)}\n\n${READING}`);
}

const INTRODUCTION = `# Benchmark

\`npm run bench -- docs/benchmark.md\` measures anew and writes this page. Under six minutes, Linux, needs Chromium.
`;

const READING = `## How to read it

- Gateway and bare subscriber listen to one server in the same seconds. The bare subscriber is node-opcua with the same items, sampling and
  publishing intervals, in batches, and a handler that counts. The gateway is the whole program: link process, reducer, alert watch, SQLite with
  \`synchronous=FULL\`, recorder, HTTP and sockets; all its processes and threads, a whole minute.
- Each chamber has 30 tags: 22 analog or counting ones change every second, 8 with the run (ten minutes). At 4 Hz every tag is sampled fast.
- Of the time to the pixel 1.5 s is the reorder window (\`src/ordering.ts\`: a value waits for late ones before it is judged); sampling and publishing take up to
  250 ms each, the link's batches and the pages' beat up to 250 ms each. The baseline is the same change as the bare subscriber hears it.
- Page weight: everything over the wire until the first chamber is drawn live, gzipped where the gateway sends it so, the socket's messages included.
`;

function rowsOf({ fleets, hurried }: Measured): readonly Row[] {
  return [
    ...fleets.map((fleet) => costRow(`${fleet.chambers} chambers, 1 Hz`, fleet.cost)),
    costRow(`${hurried.chambers} chambers, ${hurried.hz} Hz`, hurried),
    ...fleets.flatMap(latencyRows),
    ...memoryRows(fleets),
    ...fleets.flatMap(paintRows),
  ];
}

function costRow(what: string, { gateway, raw }: Cost): Row {
  const say = ({ per100k, valuesPerS, cores }: Cost['raw']): string =>
    `${per100k.toFixed(2)} (${valuesPerS.toFixed(0)} values/s, ${(100 * cores).toFixed(1)} % of a core)`;
  return [`CPU-s per 100 000 values, ${what}`, say(gateway), say(raw), (gateway.per100k / raw.per100k).toFixed(2)];
}

function latencyRows({ chambers, times }: Fleet): readonly Row[] {
  const row = (what: string, spread: Spread): Row => [
    `${what}, ${chambers} chambers: p50 / p99`,
    said(spread),
    said(times.heardRaw),
    `${(spread.p50 / times.heardRaw.p50).toFixed(1)} / ${(spread.p99 / times.heardRaw.p99).toFixed(1)}`,
  ];
  return [row('alarm to the wall', times.wall), row('pressure to the chamber page', times.chamber)];
}

const said = ({ p50, p99, samples, missed }: Spread): string =>
  `${p50.toFixed(0)} / ${p99.toFixed(0)} ms (${samples} samples${missed > 0 ? `, ${missed} not seen` : ''})`;

function memoryRows(fleets: readonly Fleet[]): readonly Row[] {
  const [small, large] = [fleets[0] as Fleet, fleets.at(-1) as Fleet];
  const each = (large.cost.rssBytes - small.cost.rssBytes) / (large.chambers - small.chambers);
  const total = ({ chambers, cost }: Fleet): string => `${(cost.rssBytes / MB).toFixed(0)} MB at ${chambers}`;
  return [['memory per chamber', `${(each / MB).toFixed(2)} MB`, `resident, all processes: ${total(small)}, ${total(large)}`, '']];
}

function paintRows({ chambers, pageBytes, firstPaintMs, addressMs, paintAgainMs }: Fleet): readonly Row[] {
  return [
    [
      `wall page over the wire, ${chambers} chambers`,
      `${(pageBytes / 1000).toFixed(0)} kB`,
      'aim 200 kB',
      (pageBytes / 200_000).toFixed(2),
    ],
    [
      `first live chamber drawn after start, ${chambers} chambers`,
      `${(firstPaintMs / 1000).toFixed(1)} s`,
      `address printed after ${(addressMs / 1000).toFixed(1)} s`,
      '',
    ],
    [`wall drawn live after opening it, ${chambers} chambers`, `${paintAgainMs.toFixed(0)} ms`, '', ''],
  ];
}

function conditions({ loads, tookMs }: Measured): string {
  const machine = `${cpus().length} cores (${cpus()[0]?.model.trim() ?? arch()}), ${platform()}, Node ${process.versions.node}`;
  const load = loads.map((one) => one.toFixed(1)).join(' before, ');
  return `${new Date().toISOString().slice(0, 10)}, ${machine}; load average ${load} after; took ${(tookMs / 1000).toFixed(0)} s.`;
}
