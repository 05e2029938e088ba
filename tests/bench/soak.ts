/**
 * Many plant hours in minutes: the demo at 60 times real time, a wall page's worth of questions asked all the while, lines cut again and again.
 * What the gateway's processes keep must not grow with the hours. Left alone, a process takes memory for garbage as it likes; here each heap
 * may hold 160 MB of what is old, so resident memory soon is what is really kept, and a process that keeps more ends. The lowest of each
 * stretch is taken, and a line is laid through those.
 */
import { setTimeout as wait } from 'node:timers/promises';
import { linearRegression, linearRegressionLine } from 'simple-statistics';
import { sendOrder } from '../../gateway/simulator/control.ts';
import { startProgram, type Program } from '../e2e/program.ts';
import { memoryOf } from './process-tree.ts';

export type Soak = {
  readonly plantHours: number;
  readonly cuts: number;
  readonly facts: number;
  readonly parts: readonly SoakPart[];
};
export type SoakPart = {
  readonly name: string;
  readonly firstBytes: number;
  readonly lastBytes: number;
  /** Of the line, with its standard error. */
  readonly bytesPerPlantHour: number;
  readonly errorPerPlantHour: number;
};

const SPEED = 60;
export const HEAP_MB = 160;
const WARM_UP_MS = 120_000;
const SAMPLE_MS = 2_000;
/** One low point of each. */
const STRETCH_MS = 30_000;
const CUT_MS = 45_000;
const HOUR_MS = 3_600_000;
const CHAMBERS = ['PC-03', 'PC-07', 'PC-11'];
const PARTS = { gateway: 'main.ts', link: 'opcua/child.ts' } as const;
const ASKED = ['/api/fleet', '/api/alarms?limit=100', '/api/runs?limit=50', '/api/week', '/api/alerts'];

type Sample = { readonly ms: number; readonly bytes: Readonly<Record<string, number>> };

export async function soak(minutes: number): Promise<Soak> {
  const program = await startProgram({ speed: SPEED, weeks: 0, env: { NODE_OPTIONS: `--max-old-space-size=${HEAP_MB}` } });
  try {
    await wait(WARM_UP_MS);
    const before = await facts(program);
    const samples: Sample[] = [];
    const startedAt = performance.now();
    let cuts = 0;
    for (let ms = 0; ms < minutes * 60_000; ms = performance.now() - startedAt) {
      if (ms > cuts * CUT_MS) await cut(program, CHAMBERS[cuts++ % CHAMBERS.length] as string);
      await Promise.all(ASKED.map(async (path) => (await fetch(program.url + path)).arrayBuffer()));
      samples.push({ ms, bytes: memoryOf(program.pid, PARTS) });
      await wait(SAMPLE_MS);
    }
    const plantHours = ((performance.now() - startedAt) * SPEED) / HOUR_MS;
    return { plantHours, cuts, facts: (await facts(program)) - before, parts: Object.keys(PARTS).map((name) => partOf(name, samples)) };
  } finally {
    await program.stop();
  }
}

async function cut(program: Program, chamber: string): Promise<void> {
  const wrong = await sendOrder(program.control, { fault: 'link-drop', chamber, size: null, durationMs: 5 * 60_000 });
  if (wrong !== null) throw new Error(wrong);
}

async function facts(program: Program): Promise<number> {
  return ((await (await fetch(`${program.url}/api/fleet`)).json()) as { seq: number }).seq;
}

function partOf(name: string, samples: readonly Sample[]): SoakPart {
  const stretches = Map.groupBy(samples, ({ ms }) => Math.floor(ms / STRETCH_MS));
  const lows = [...stretches].map(([at, all]): [number, number] => [
    (at * STRETCH_MS * SPEED) / HOUR_MS,
    Math.min(...all.map(({ bytes }) => bytes[name] ?? 0)),
  ]);
  const line = linearRegression(lows);
  const fitted = linearRegressionLine(line);
  const mean = lows.reduce((sum, [x]) => sum + x, 0) / lows.length;
  const spread = lows.reduce((sum, [x]) => sum + (x - mean) ** 2, 0);
  const rest = lows.reduce((sum, [x, y]) => sum + (y - fitted(x)) ** 2, 0);
  return {
    name,
    firstBytes: lows[0]?.[1] ?? 0,
    lastBytes: lows.at(-1)?.[1] ?? 0,
    bytesPerPlantHour: line.m,
    errorPerPlantHour: Math.sqrt(rest / (lows.length - 2) / spread),
  };
}
