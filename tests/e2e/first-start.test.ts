/** The first start of the real program: the told past goes over into the heard present, and nobody sees where. */
import { describe, expect, test } from 'vitest';
import type { ChamberTile, Fleet, LiveValues, StateInterval, Trace } from '../../src/contract.ts';
import { io } from 'socket.io-client';
import { startProgram, type Program } from './program.ts';

const MINUTE_MS = 60_000;
/** What the plant itself lived through lies further back than this or is told by its own record. */
const SEAM_MS = 15 * MINUTE_MS;

const get = async <T>({ url }: Program, path: string): Promise<T> => (await (await fetch(`${url}${path}`)).json()) as T;

/** Links that the plant itself cut, as it does with that of PC-12 now and then: these holes are honest. */
const watched = (fleet: Fleet): readonly ChamberTile[] => fleet.chambers.filter((tile) => tile.link === 'live' && tile.chamber !== 'PC-12');

describe.each([1, 60])('a first start at %i times real time', (speed) => {
  test('leaves no unobserved time where the past ends, and no hole in the traces', { timeout: 240_000 }, async () => {
    const program = await startProgram({ speed, weeks: 1 });
    try {
      const first = await get<Fleet>(program, '/api/fleet');
      // The first word of every chamber after the hand-over.
      let fleet = first;
      for (let tries = 0; tries < 100 && fleet.now < first.now + 5_000 * speed; tries++) {
        await new Promise((done) => setTimeout(done, 200));
        fleet = await get<Fleet>(program, '/api/fleet');
      }
      const from = first.now - SEAM_MS;
      const chambers = watched(fleet);
      expect(chambers.length).toBeGreaterThanOrEqual(9);
      const spans = await get<StateInterval[]>(program, `/api/equipment-time?from=${from}&to=${fleet.now}`);
      const holes = spans.filter((span) => span.state === 'unobserved' && chambers.some(({ chamber }) => chamber === span.chamber));
      expect(holes).toEqual([]);
      const [{ chamber }] = chambers as [ChamberTile];
      const trace = await get<Trace>(program, `/api/chambers/${chamber}/trace?from=${from}&to=${fleet.now}`);
      expect(trace.signals.flatMap((signal) => signal.value.filter((value) => value === null))).toEqual([]);
    } finally {
      expect(await program.stop()).toBe(0);
    }
  });
});

/** What a page is told of a chamber once that satisfies `isAll`: a slow tag's first value takes its 5 s. */
function valuesOf({ url }: Program, chamber: string, isAll: (known: ReadonlySet<string>) => boolean): Promise<LiveValues> {
  const socket = io(url, { transports: ['websocket'] });
  return new Promise<LiveValues>((resolve, reject) => {
    const missing = setTimeout(() => reject(new Error(`not every value of ${chamber} was told within 15 s`)), 15_000);
    socket.on('connect', () => {
      socket.emit('hello', { boot: null, rev: null });
      socket.emit('watch', { chamber });
    });
    socket.on('values', (told: LiveValues) => {
      if (!isAll(new Set(told.values.filter(({ value }) => value !== null).map(({ signal }) => signal)))) return;
      clearTimeout(missing);
      resolve(told);
    });
  }).finally(() => socket.disconnect());
}

test(
  'a page that opens a chamber right after the start is told every value, also those that stand still',
  { timeout: 240_000 },
  async () => {
    const program = await startProgram({ weeks: 1 });
    try {
      const { signals } = await get<{ signals: string[] }>(program, '/api/chambers/PC-03');
      const told = await valuesOf(program, 'PC-03', (known) => signals.every((signal) => known.has(signal)));
      const trace = await get<Trace>(program, `/api/chambers/PC-03/trace?from=${told.now - MINUTE_MS}&to=${told.now}`);
      for (const { signal, at, value } of trace.signals) {
        expect([signal, at.at(0)]).toEqual([signal, told.now - MINUTE_MS]);
        expect(value).not.toContain(null);
      }
    } finally {
      await program.stop();
    }
  },
);
