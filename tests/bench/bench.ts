/**
 * The benchmark: what the whole gateway costs beside a bare subscriber of the same library on the same server in the same seconds, how long
 * a change takes to the pixel, memory, page weight, first paint. Linux only (/proc). Some six minutes; prints a table, and with a file name
 * writes it there too.
 *
 *   npm run bench [-- docs/benchmark.md]
 */
import { loadavg } from 'node:os';
import { setTimeout as wait } from 'node:timers/promises';
import { latency, type Latency } from './latency.ts';
import { printed, written, type Fleet, type Measured } from './report.ts';
import { Rig, type Cost } from './rig.ts';
import { Screen, whenSeen, type Bytes } from './screen.ts';

const FLEETS = [12, 200] as const;
const WARM_UP_S = 10;
/** A whole minute holds the recorder's writing of a minute exactly once. */
const WINDOW_S = 60;
const HURRIED = { chambers: 60, periodMs: 250 };

const LONGEST_MS = 10 * 60_000;

const startedAt = performance.now();
// The processes it started end when their channel to this one closes.
setTimeout(() => {
  console.error(`The benchmark did not end within ${LONGEST_MS / 60_000} minutes.`);
  process.exit(1);
}, LONGEST_MS);
const loadBefore = loadavg()[0] ?? 0;
const screen = new Screen();
await screen.start();
const fleets: Fleet[] = [];
for (const chambers of FLEETS) fleets.push(await fleet(chambers));
const measured: Measured = {
  fleets,
  hurried: await hurried(),
  loads: [loadBefore, loadavg()[0] ?? 0],
  tookMs: performance.now() - startedAt,
};
await screen.stop();
console.log(printed(measured));
const file = process.argv[2];
if (file !== undefined) await written(file, measured);
process.exit(0);

async function fleet(chambers: number): Promise<Fleet> {
  const rig = new Rig({ chambers, periodMs: 1000 });
  try {
    say(`${chambers} chambers at 1 Hz: starting`);
    await rig.startServers();
    await rig.startRaw();
    await rig.startGateway();
    const first = await firstPaint(rig);
    await wait(WARM_UP_S * 1000);
    say(`${chambers} chambers at 1 Hz: a minute of both sides`);
    const cost: Cost = await rig.cost(WINDOW_S);
    say(`${chambers} chambers at 1 Hz: changes to the pixel`);
    const wall = await screen.open(rig.url);
    const navigated = Date.now();
    const again = (await whenSeen(wall, 'live')) - navigated;
    const times: Latency = await latency(rig, screen, wall);
    await wall.page.close();
    return { chambers, cost, times, ...first, paintAgainMs: again };
  } finally {
    await rig.stop();
  }
}

/** From the start of the program to a chamber drawn with live data, and what came over the wire until then. */
async function firstPaint(rig: Rig): Promise<{ firstPaintMs: number; addressMs: number; pageBytes: Bytes }> {
  const addressMs = Date.now() - rig.spawnedAt;
  const wall = await screen.open(rig.url);
  const at = await whenSeen(wall, 'live');
  const pageBytes = wall.bytes();
  await wall.page.close();
  return { firstPaintMs: at - rig.spawnedAt, addressMs, pageBytes };
}

async function hurried(): Promise<Cost & { readonly chambers: number; readonly hz: number }> {
  const rig = new Rig(HURRIED);
  try {
    say(`${HURRIED.chambers} chambers at ${1000 / HURRIED.periodMs} Hz: a minute of both sides`);
    await rig.startServers();
    await rig.startRaw();
    await rig.startGateway();
    await wait(WARM_UP_S * 1000);
    return { ...(await rig.cost(WINDOW_S)), chambers: HURRIED.chambers, hz: 1000 / HURRIED.periodMs };
  } finally {
    await rig.stop();
  }
}

function say(what: string): void {
  console.log(`${((performance.now() - startedAt) / 1000).toFixed(0).padStart(4)} s  ${what}`);
}
