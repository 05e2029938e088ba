/** The benchmark's table: each measured value beside its baseline of the same run, as text and as a page. */
import { writeFile } from 'node:fs/promises';
import { arch, cpus, platform } from 'node:os';
import { format } from 'prettier';
import type { Latency, Spread } from './latency.ts';
import type { Cost, Side } from './rig.ts';
import type { Bytes } from './screen.ts';

export type Fleet = {
  readonly chambers: number;
  readonly cost: Cost;
  readonly times: Latency;
  readonly addressMs: number;
  readonly firstPaintMs: number;
  readonly paintAgainMs: number;
  readonly pageBytes: Bytes;
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
const AIM_BYTES = 200_000;

export function printed(measured: Measured): string {
  const rows = [HEAD, ...rowsOf(measured)];
  const widths = HEAD.map((_, column) => Math.max(...rows.map((row) => (row[column] as string).length)));
  const lines = rows.map((row) => row.map((cell, column) => cell.padEnd(widths[column] as number)).join('  '));
  return ['', ...lines, '', conditions(measured)].join('\n');
}

export async function written(file: string, measured: Measured): Promise<void> {
  const row = (cells: readonly string[]): string => `| ${cells.join(' | ')} |`;
  const table = [row(HEAD), row(['---', '---', '---', '---']), ...rowsOf(measured).map(row)].join('\n');
  const page = `${INTRODUCTION}\n${table}\n\n${conditions(measured)}\n\n${READING}`;
  await writeFile(file, await format(page, { parser: 'markdown' }));
}

const INTRODUCTION = `# Benchmark

\`npm run bench -- docs/benchmark.md\` measures anew and writes this page. Some six minutes, on Linux with Chromium; nothing else should run.
`;

const READING = `## How to read it

- Gateway and bare subscriber listen to one server in the same seconds. The bare subscriber is node-opcua with the same items, sampling and publishing intervals, created in batches, and a handler that counts. The gateway is the whole program, all its processes and threads: link process, ordering, reducer, alert watch, SQLite with \`synchronous=FULL\`, recorder, HTTP and sockets. Each window is a whole minute, so that it holds the recorder's minute once.
- Each chamber has 30 tags: 22 change every second, 8 with the run of ten minutes. At 4 Hz every tag is sampled fast.
- The aim for the cost is a ratio of 1.5 at most. Where the processor time goes is below.
- Of the time to the pixel 1.5 s is the reorder window (\`src/ordering.ts\`: a value waits for late ones before it is judged). Sampling and publishing take up to 250 ms each, and are what the baseline shows: the same changes as the bare subscriber hears them. The link's batches take up to 200 ms, the pages' beat up to 250 ms. "Not seen" are values overwritten by the next before they were published or drawn.
- The wall page is every file over the wire, compressed as it came; the socket's messages are not compressed and are counted apart.
- First live chamber: the link waits two seconds for the values to settle before it judges a phase, and the reorder window comes on top.

## Where the processor time goes

By thread at 200 chambers and 1 Hz (\`/proc/PID/task/*/schedstat\` over half a minute, 25 November 2026): link process two fifths of the whole, gateway's main thread a little more than two fifths, V8's helper threads a seventh, SQLite's thread 4 %. The link process alone costs 1.9 times the bare subscriber: half of it is the library's decoding, which both pay, the other half turns values into readings (time judged, units, quality) and hands them over. It is a process of its own so that a hostile server cannot harm store and screens. In the main thread ordering is the largest part, then writing traces, reducer and live values. At these rates waking up costs as much as working: the same core fed without pauses takes less than half of that per value. \`NODE_OPTIONS='--cpu-prof --cpu-prof-dir=DIR'\` before the program profiles every thread, at a multiple of the cost.
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
  const each = (side: (cost: Cost) => Side): number =>
    (side(large.cost).rssBytes - side(small.cost).rssBytes) / (large.chambers - small.chambers) / MB;
  const [ours, bare] = [each((cost) => cost.gateway), each((cost) => cost.raw)];
  return [
    ['memory per chamber', `${ours.toFixed(2)} MB`, `${bare.toFixed(2)} MB`, (ours / bare).toFixed(1)],
    ...fleets.map(({ chambers, cost: { gateway, raw } }): Row => {
      const [whole, one] = [gateway.rssBytes / MB, raw.rssBytes / MB];
      return [`resident memory, ${chambers} chambers`, `${whole.toFixed(0)} MB`, `${one.toFixed(0)} MB`, (whole / one).toFixed(1)];
    }),
  ];
}

function paintRows({ chambers, pageBytes: { files, socket }, firstPaintMs, addressMs, paintAgainMs }: Fleet): readonly Row[] {
  const kB = (bytes: number): string => `${(bytes / 1000).toFixed(0)} kB`;
  const at = `${chambers} chambers`;
  return [
    [`wall page, gzipped, ${at}`, kB(files), 'aim 200 kB', (files / AIM_BYTES).toFixed(2)],
    [`socket until the first live chamber after start, ${at}`, kB(socket), '', ''],
    [
      `first live chamber drawn after start, ${at}`,
      `${(firstPaintMs / 1000).toFixed(1)} s`,
      `address said after ${(addressMs / 1000).toFixed(1)} s`,
      '',
    ],
    [`wall drawn live after opening it, ${at}`, `${paintAgainMs.toFixed(0)} ms`, '', ''],
  ];
}

function conditions({ loads, tookMs }: Measured): string {
  const machine = `${cpus().length} cores (${cpus()[0]?.model.trim() ?? arch()}), ${platform()}, Node ${process.versions.node}`;
  const load = loads.map((one) => one.toFixed(1)).join(' before, ');
  return `${new Date().toISOString().slice(0, 10)}, ${machine}; load average ${load} after; took ${(tookMs / 1000).toFixed(0)} s.`;
}
