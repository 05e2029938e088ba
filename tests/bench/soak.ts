/**
 * Many plant hours in minutes: the demo at 60 times real time, a page's worth of questions asked all the while, lines cut again and again.
 * What the gateway's processes keep must not grow with the hours. Garbage is collected before each look (kept-memory.mjs); what is left is what
 * is kept and what was on its way just then. On its way there is sometimes much and sometimes nothing, so a line is laid through the least of
 * every two plant hours.
 */
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { setTimeout as wait } from 'node:timers/promises';
import { linearRegression, linearRegressionLine } from 'simple-statistics';
import { sendOrder } from '../../gateway/simulator/control.ts';
import { startProgram, type Program } from '../e2e/program.ts';

export type Soak = {
  readonly plantHours: number;
  readonly cuts: number;
  readonly facts: number;
  readonly parts: readonly SoakPart[];
};
export type SoakPart = {
  readonly name: string;
  /** Of the line, at its ends. */
  readonly firstBytes: number;
  readonly lastBytes: number;
  /** With its standard error. */
  readonly bytesPerPlantHour: number;
  readonly errorPerPlantHour: number;
  /** At any look, with what was on its way. */
  readonly mostBytes: number;
};

const SPEED = 60;

const WARM_UP_MS = 120_000;
const ASK_MS = 2_000;
const CUT_MS = 45_000;
const HOUR_MS = 3_600_000;
/** Twelve looks. */
const LEAST_OF_H = 2;
const CHAMBERS = ['PC-03', 'PC-07', 'PC-11'];
const PARTS = ['gateway', 'link'];
const ASKED = ['/api/fleet', '/api/alarms?limit=100', '/api/runs?limit=50', '/api/alerts', '/api/alarm-statistics'];

export async function soak(minutes: number): Promise<Soak> {
  const folder = mkdtempSync(join(tmpdir(), 'glowfleet-soak-'));
  const preload = pathToFileURL(join(import.meta.dirname, 'kept-memory.mjs')).href;
  const program = await startProgram({
    speed: SPEED,
    weeks: 0,
    env: { NODE_OPTIONS: `--import=${preload}`, GLOWFLEET_BENCH_MEMORY: folder },
  });
  try {
    await wait(WARM_UP_MS);
    const before = await facts(program);
    const startedAt = Date.now();
    let cuts = 0;
    for (let ms = 0; ms < minutes * 60_000; ms = Date.now() - startedAt) {
      if (ms > cuts * CUT_MS) await cut(program, CHAMBERS[cuts++ % CHAMBERS.length] as string);
      await Promise.all(ASKED.map(async (path) => (await fetch(program.url + path)).arrayBuffer()));
      await wait(ASK_MS);
    }
    const plantHours = plantHoursSince(startedAt, Date.now());
    const parts = PARTS.map((name) => partOf(name, keptSince(join(folder, name), startedAt)));
    return { plantHours, cuts, facts: (await facts(program)) - before, parts };
  } finally {
    await program.stop();
    rmSync(folder, { recursive: true, force: true });
  }
}

const plantHoursSince = (startedAt: number, at: number): number => ((at - startedAt) * SPEED) / HOUR_MS;

function keptSince(file: string, startedAt: number): Points {
  const lines = readFileSync(file, 'utf8').trim().split('\n');
  const points = lines.map((line) => line.split(' ').map(Number) as [number, number]);
  return points.flatMap(([at, bytes]) => (at < startedAt ? [] : [[plantHoursSince(startedAt, at), bytes] as const]));
}

async function cut(program: Program, chamber: string): Promise<void> {
  const wrong = await sendOrder(program.control, { fault: 'link-drop', chamber, size: null, durationMs: 5 * 60_000 });
  if (wrong !== null) throw new Error(wrong);
}

async function facts(program: Program): Promise<number> {
  return ((await (await fetch(`${program.url}/api/fleet`)).json()) as { seq: number }).seq;
}

/** Plant hours and bytes. */
type Points = readonly (readonly [number, number])[];

/** The least of every two plant hours; a last stretch that is shorter does not count. */
function leastOf(points: Points): Points {
  const stretches = Map.groupBy(points, ([hours]) => Math.floor(hours / LEAST_OF_H));
  const whole = [...stretches.values()].slice(0, -1);
  return whole.map((stretch) => stretch.reduce((least, point) => (point[1] < least[1] ? point : least)));
}

function partOf(name: string, looks: Points): SoakPart {
  const points = leastOf(looks);
  const line = linearRegression(points.map(([x, y]) => [x, y]));
  const fitted = linearRegressionLine(line);
  const mean = points.reduce((sum, [x]) => sum + x, 0) / points.length;
  const spread = points.reduce((sum, [x]) => sum + (x - mean) ** 2, 0);
  const rest = points.reduce((sum, [x, y]) => sum + (y - fitted(x)) ** 2, 0);
  return {
    name,
    firstBytes: fitted(0),
    lastBytes: fitted(points.at(-1)?.[0] ?? 0),
    bytesPerPlantHour: line.m,
    errorPerPlantHour: Math.sqrt(rest / (points.length - 2) / spread),
    mostBytes: Math.max(...looks.map(([, bytes]) => bytes)),
  };
}
