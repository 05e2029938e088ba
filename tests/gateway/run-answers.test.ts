/** Runs as they are found and proven, over the same store in memory and on disk. */
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { DatabaseSync } from 'node:sqlite';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, test } from 'vitest';
import { parseSite } from '../../gateway/config.ts';
import { firstRows } from '../../gateway/portions.ts';
import { plantOf } from '../../gateway/plant.ts';
import { explainedRun, runAnswers } from '../../gateway/run-answers.ts';
import { explainRun } from '../../src/explain-run.ts';
import { runDigest } from '../../gateway/run-digest.ts';
import { DATABASE_FILE } from '../../gateway/store/sqlite-open.ts';
import { MIGRATIONS, migrate } from '../../gateway/store/schema.ts';
import { memoryStore } from '../../gateway/store/memory.ts';
import { openSqlite } from '../../gateway/store/sqlite.ts';
import type { RunQuery, Store } from '../../gateway/store/store.ts';
import { initialChamber } from '../../src/chamber.ts';
import { eventId, type ChamberEvent, type RunEnded } from '../../src/event.ts';
import { runRecordAnswer } from '../../src/run-answer.ts';
import type { DeviationCode, RunRecord } from '../../src/run-facts.ts';
import { runRecord } from '../../src/run-record.ts';
import { RULES, runExample } from '../src/run-example.ts';

const FILE = 'gateway/simulator/quellmoor.yaml';
const plant = plantOf(parseSite(FILE, readFileSync(FILE, 'utf8')));
const HOUR = 3_600_000;
const { run: RUN } = runExample();
const RECORD = runRecord(runExample());

type Made = {
  chamber?: string;
  load?: string | null;
  recipe?: string;
  outcome?: RunEnded['outcome'];
  codes?: DeviationCode[] | null;
  base?: number;
};
/** The n-th run, an hour after the one before. */
function made(n: number, { chamber = 'PC-05', codes = [], base, ...rest }: Made = {}): ChamberEvent[] {
  const at = RUN.at + n * HOUR;
  const startedAt = RUN.startedAt + n * HOUR;
  const run: RunEnded = { ...RUN, ...rest, chamber, at, startedAt, run: `${chamber}/${new Date(startedAt).toISOString()}` };
  if (codes === null) return [run];
  const deviations = codes.map((code) => ({ code, text: code, step: null }));
  const record: RunRecord = { ...RECORD, deviations, basePressurePa: base ?? RECORD.basePressurePa };
  return [run, { kind: 'run-record', chamber, at, run: run.run, record, digest: runDigest(run, record) }];
}
const idOf = (n: number, chamber = 'PC-05'): string => `${chamber}/${new Date(RUN.startedAt + n * HOUR).toISOString()}`;

const folders: string[] = [];
const opened: Store[] = [];
const folder = (): string => {
  folders.push(mkdtempSync(join(tmpdir(), 'glow-runs-')));
  return folders.at(-1)!;
};
const STORES = { memory: () => Promise.resolve(memoryStore()), sqlite: () => openSqlite(folder()) };
afterEach(async () => {
  await Promise.all(opened.splice(0).map((store) => store.close()));
  for (const one of folders.splice(0)) rmSync(one, { recursive: true });
});

const partsOver = (store: Store) => {
  const clock = { now: () => RUN.at + 100 * 24 * HOUR, steadyMs: () => 0, speed: 1 };
  return { plant, store, clock, state: () => initialChamber(RULES) };
};
const answersOver = (store: Store) => runAnswers(partsOver(store));
const all = { window: { from: 0, to: 8e15 }, chamber: null };

describe.each(Object.keys(STORES) as (keyof typeof STORES)[])('runs in the %s store', (name) => {
  const filled = async (events: readonly ChamberEvent[]): Promise<Store> => {
    const store = await STORES[name]();
    opened.push(store);
    await store.append({ events, snapshots: new Map() });
    return store;
  };

  test('are found by part of the load or recipe, by outcome, deviation, chamber and end, newest first', async () => {
    const store = await filled([
      ...made(0, { load: 'QM-26-0411-A', codes: ['energy-low', 'reflected-high', 'energy-low'] }),
      ...made(1, { load: 'QM-26-0412-A', recipe: 'ETB-RF-43', outcome: 'aborted', codes: ['step-short'] }),
      ...made(2, { load: null, codes: null }),
      ...made(3, { load: 'qm-26-0411-b', chamber: 'PC-06' }),
    ]);
    const found = async (query: Partial<RunQuery>): Promise<number[]> =>
      (await store.runs({ limit: 100, ...query })).map(({ run }) => (run.at - RUN.at) / HOUR);
    expect(await found({})).toEqual([3, 2, 1, 0]);
    expect(await found({ load: 'M-26-0411' })).toEqual([3, 0]);
    expect(await found({ load: '%' })).toEqual([]);
    expect(await found({ recipe: 'etb' })).toEqual([1]);
    expect(await found({ outcome: 'aborted' })).toEqual([1]);
    expect(await found({ deviation: 'energy-low' })).toEqual([0]);
    expect(await found({ deviation: 'energy-high' })).toEqual([]);
    expect(await found({ deviation: 'any' })).toEqual([1, 0]);
    expect(await found({ deviation: 'none' })).toEqual([3]);
    expect(await found({ chambers: ['PC-06'] })).toEqual([3]);
    expect(await found({ from: RUN.at + HOUR, to: RUN.at + 3 * HOUR })).toEqual([2, 1]);
    expect(await found({ limit: 2 })).toEqual([3, 2]);
    expect((await store.runs({ limit: 9 })).map(({ deviations }) => deviations)).toEqual([
      [],
      null,
      ['step-short'],
      ['energy-low', 'reflected-high'],
    ]);
  });

  test('come in portions without one left out or twice, also when they ended at the same moment', async () => {
    const same = plant.ids.slice(0, 5).flatMap((chamber) => [0, 1].flatMap((n) => made(n, { chamber })));
    const store = await filled(same);
    const seen: string[] = [];
    let after: { at: number; seq: number } | undefined;
    for (let n = 0; n < 9; n++) {
      const part = await store.runs({ limit: 3, ...(after === undefined ? {} : { after }) });
      seen.push(...part.map(({ run }) => run.run));
      after = part.at(-1)?.run ?? after;
    }
    expect(seen).toHaveLength(10);
    expect(new Set(seen).size).toBe(10);
  });

  test('one is answered with its record, its seal, and what is usual here and in sister chambers', async () => {
    const events = [1, 2, 3, 4, 5, 6]
      .flatMap((n) => made(n, { base: 10 + n }))
      .concat([1, 2, 3, 4, 5].flatMap((n) => made(n, { chamber: 'PC-06', base: 30 })));
    const others = [
      ...made(7, { base: 999, codes: ['energy-low'] }),
      ...made(8, { base: 999, recipe: 'DSM-EP-25-B' }),
      ...made(10, { base: 999 }),
    ];
    const store = await filled([...events, ...others, ...made(9, { base: 20 })]);
    const answer = await answersOver(store).runRecord(idOf(9));
    expect(runRecordAnswer.parse(answer)).toEqual(answer);
    expect(answer).toMatchObject({ intact: true, verdict: 'within-limits', run: { run: idOf(9), deviations: [] } });
    const band = answer.bands.find(({ name: one }) => one === 'base-pressure');
    expect(band).toMatchObject({ value: 20, own: { n: 6, p50: 13.5, inside: false }, sisters: { n: 5, p50: 30 } });
  });

  test('a number of one opens with its stretches, and what is usual with the runs that make it', async () => {
    const usual = [1, 2, 3, 4, 5, 6].flatMap((n) => made(n, { base: 10 + n }));
    const store = await filled([...usual, ...made(9, { base: 20 })]);
    const run = await explainedRun(partsOver(store), idOf(9));
    const ask = (number: string) => explainRun({ number, chamber: null, offset: 0, limit: 50 }, run, plant.units);
    expect(ask('figure/base-pressure')).toMatchObject({ run: idOf(9), value: 20, madeOfTotal: 1 });
    expect(ask('usual/base-pressure')?.madeOf.map(({ run: one, amount }) => [one, amount])).toEqual(
      [6, 5, 4, 3, 2, 1].map((n) => [idOf(n), 10 + n]),
    );
    expect(ask('sisters/base-pressure')).toMatchObject({ value: null, madeOfTotal: 0 });
  });

  test('an unknown one, a wrong id and one without a record are told apart', async () => {
    const answers = answersOver(await filled(made(0, { codes: null })));
    await expect(answers.runRecord(idOf(5))).rejects.toMatchObject({
      code: 'not-found',
      message: expect.stringContaining('no such run') as string,
    });
    await expect(answers.runRecord(idOf(0))).rejects.toMatchObject({
      code: 'not-found',
      message: expect.stringContaining('no record') as string,
    });
    await expect(answers.runRecord('PC-05')).rejects.toMatchObject({ code: 'invalid' });
    expect((await answers.run(idOf(0))).deviations).toBeNull();
  });

  test('all of them come in portions with their records', async () => {
    const store = await filled(Array.from({ length: 7 }, (_, n) => made(n, n === 3 ? { codes: null } : {})).flat());
    const rows = await firstRows(answersOver(store).allRuns(all), Infinity);
    expect(rows.map(({ run, record }) => [(run.endedAt - RUN.at) / HOUR, record !== null])).toEqual(
      [6, 5, 4, 3, 2, 1, 0].map((n) => [n, n !== 3]),
    );
  });
});

test('one byte changed in the stored record, or in the fact of the run, is seen', async () => {
  const data = folder();
  const store = await openSqlite(data);
  await store.append({ events: [...made(0), ...made(1)], snapshots: new Map() });
  await store.close();
  const file = new DatabaseSync(join(data, DATABASE_FILE));
  file.exec(`update event set body = replace(body, '"energyJ":245620', '"energyJ":245621') where kind = 'run-record' and at = ${RUN.at}`);
  file.exec(`update event set body = replace(body, 'QM-26-04117-A', 'QM-26-04117-B') where kind = 'run-ended' and at = ${RUN.at + HOUR}`);
  file.close();
  const again = await openSqlite(data);
  opened.push(again);
  const answers = answersOver(again);
  expect(await answers.runRecord(idOf(0))).toMatchObject({ intact: false, record: { energyJ: 245_621 } });
  expect(await answers.runRecord(idOf(1))).toMatchObject({ intact: false });
});

test('an older data folder gets its runs into the search when it is opened', async () => {
  const data = folder();
  const file = new DatabaseSync(join(data, DATABASE_FILE));
  migrate(file, MIGRATIONS.slice(0, 1));
  const [old] = made(0, { load: 'QM-25-1' });
  const add = file.prepare('insert into event(seq, id, chamber, kind, at, body) values (1, ?, ?, ?, ?, ?)');
  add.run(eventId(old!), old!.chamber, old!.kind, old!.at, JSON.stringify(old));
  file.close();
  const store = await openSqlite(data);
  opened.push(store);
  expect(await store.runs({ limit: 9, load: 'QM-25' })).toMatchObject([{ run: { run: idOf(0) }, deviations: null }]);
  await store.append({ events: made(1), snapshots: new Map() });
  expect(await store.runs({ limit: 9 })).toHaveLength(2);
});
