/**
 * From a tag's change at the server to the pixel: an alarm on the wall, a pressure on the chamber page, and the same changes as the bare
 * subscriber hears them. The times are all of this machine's one clock.
 */
import { setTimeout as wait } from 'node:timers/promises';
import { alarmPath, chamberId, pressurePath } from './bench-site.ts';
import type { Written } from './bench-server.ts';
import type { Rig } from './rig.ts';
import { whenSeen, type Opened, type Screen, type Seen } from './screen.ts';

export type Spread = { readonly samples: number; readonly missed: number; readonly p50: number; readonly p99: number };
export type Latency = { readonly wall: Spread; readonly chamber: Spread; readonly heardRaw: Spread };

const SAMPLES = 64;
const LEAST_PAUSE_MS = 150;
const CHANCE_PAUSE_MS = 350;
const FLIPPED = 12;
const LAST_MS = 5000;
/** mTorr, near enough to a plasma's to change nothing but the number. */
const FIRST_PRESSURE = 300;

export async function latency(rig: Rig, screen: Screen, wall: Opened): Promise<Latency> {
  const id = chamberId(0);
  const chamber = await screen.open(`${rig.url}/chamber/${id}`);
  rig.note([pressurePath(id), ...Array.from({ length: FLIPPED }, (_, i) => alarmPath(chamberId(i)))]);
  await whenSeen(chamber, 'live');
  for (let n = 0; n < SAMPLES; n++) {
    rig.write({ path: alarmPath(chamberId(n % FLIPPED)), value: Math.floor(n / FLIPPED) % 2 === 0 });
    await pause();
    rig.write({ path: pressurePath(id), value: FIRST_PRESSURE + n });
    await pause();
  }
  await wait(LAST_MS);
  await chamber.page.close();
  const alarms = rig.writes.filter(({ value }) => typeof value === 'boolean');
  const pressures = rig.writes.filter(({ value }) => typeof value === 'number');
  return {
    wall: spread(alarms, wall.seen, ({ path, value }) => `${path.split('/')[0]} ${value === true ? 'on' : 'off'}`),
    chamber: spread(pressures, chamber.seen, ({ value }) => `pressure ${value}`),
    heardRaw: spread(
      rig.writes,
      rig.arrivals.map(({ path, value, at }) => ({ key: `${path} ${String(value)}`, at })),
      ({ path, value }) => `${path} ${value}`,
    ),
  };
}

/** Of chance length, so that no beat with a publishing interval is met again and again. */
const pause = (): Promise<void> => wait(LEAST_PAUSE_MS + CHANCE_PAUSE_MS * Math.random());

/** Each write against the first sight of it. A value overwritten before it was published can never be seen: it is counted apart. */
function spread(writes: readonly Written[], seen: readonly Seen[], keyOf: (write: Written) => string): Spread {
  const delays = writes.flatMap((write) => {
    const sight = seen.find(({ key, at }) => key === keyOf(write) && at >= write.at);
    return sight ? [sight.at - write.at] : [];
  });
  const sorted = delays.sort((a, b) => a - b);
  const quantile = (p: number): number => sorted[Math.min(sorted.length - 1, Math.ceil(p * sorted.length) - 1)] ?? Number.NaN;
  return { samples: sorted.length, missed: writes.length - sorted.length, p50: quantile(0.5), p99: quantile(0.99) };
}
