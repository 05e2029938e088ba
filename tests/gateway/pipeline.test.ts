/** Order and lifetime, with a core small enough to see through: every reading of the pressure is an event, every third opens an alert. */
import { describe, expect, test } from 'vitest';
import type { Clock } from '../../gateway/clock.ts';
import { Pipeline, type Committed, type Core } from '../../gateway/pipeline.ts';
import { memoryStore } from '../../gateway/store/memory.ts';
import type { Commit, Store } from '../../gateway/store/store.ts';
import { newDelivery } from '../../src/alert-plan.ts';
import type { ChamberState } from '../../src/chamber-state.ts';
import type { Alert } from '../../src/contract.ts';
import type { ChamberEvent } from '../../src/event.ts';
import type { Reading } from '../../src/reading.ts';
import type { Signal } from '../../src/signal.ts';

const reading = (at: number, signal: Signal = 'chamber.pressure', chamber = 'PC-01'): Reading => ({
  chamber,
  signal,
  value: signal === 'link.alive' ? true : at,
  quality: 'good',
  at,
  timeOrigin: 'source',
  receivedAt: at,
});
const eventOf = ({ chamber, at, signal, value }: Reading): ChamberEvent => ({
  chamber,
  at,
  kind: 'equipment-state',
  state: signal === 'link.alive' && value === false ? 'unobserved' : 'standby',
  reason: signal,
  source: 'signal',
  run: null,
});
const alertOf = (id: string, state: Alert['state'] = 'open'): Alert => ({ id, state, startedAt: 1, updatedAt: 1 }) as Alert;

type Tiny = ChamberState & { readonly seen: number };
const tinyState = (seen: number, heardAt: number): Tiny =>
  ({ seen, now: heardAt, presence: { word: heardAt === 0 ? 'never' : 'heard' } }) as unknown as Tiny;

const tinyCore = (chambers = ['PC-01', 'PC-02']): Core<{ count: number }> => ({
  chambers,
  initialChamber: () => tinyState(0, 0),
  observe: (_, state, r) => ({
    state: tinyState((state as Tiny).seen + 1, Math.max(state.now, r.at)),
    events: r.signal === 'chamber.pressure' || r.value === false ? [eventOf(r)] : [],
  }),
  order: (readings) => [...readings].sort((a, b) => a.at - b.at),
  initialWatch: () => ({ count: 0 }),
  restoredWatch: (stored) => stored as { count: number },
  watch: ({ count }, { events }) => {
    const seen = count + events.length;
    return { state: { count: seen }, alerts: Math.floor(seen / 3) > Math.floor(count / 3) ? [alertOf(`alert ${seen}`)] : [] };
  },
});

type Deed = { readonly deed: 'append' | 'stored' | 'told'; readonly at: readonly number[] };

/** A pipeline whose every deed is written down, and whose clocks stand still until moved. */
function pipelineOn(store: Store, change: { core?: Core<{ count: number }>; append?: (commit: Commit) => Promise<void> } = {}) {
  const deeds: Deed[] = [];
  const fatal: unknown[] = [];
  const told: Committed[] = [];
  const time = { steady: 0 };
  const clock: Clock = { now: () => 1000, steadyMs: () => time.steady, speed: 1 };
  const ats = (events: readonly { at: number }[]): number[] => events.map((e) => e.at);
  const watched: Store = {
    ...store,
    append: async (commit) => {
      deeds.push({ deed: 'append', at: ats(commit.events) });
      await change.append?.(commit);
      const stored = await store.append(commit);
      deeds.push({ deed: 'stored', at: ats(stored) });
      return stored;
    },
  };
  const waiting: { wanted: number; done: () => void }[] = [];
  const pipeline = new Pipeline({
    store: watched,
    core: change.core ?? tinyCore(),
    planned: (alerts, now) =>
      alerts.map(({ id, state }) => newDelivery({ alert: id, route: 'hook', stage: state === 'open' ? 'opened' : 'closed', at: now })),
    clock,
    onCommitted: (news) => {
      told.push(news);
      deeds.push({ deed: 'told', at: ats(news.stored) });
      waiting.filter(({ wanted }) => told.length >= wanted).forEach(({ done }) => done());
    },
    onOrdered: () => undefined,
    onFatal: (error) => {
      fatal.push(error);
      waiting.forEach(({ done }) => done());
    },
  });
  /** Resolves once that many turns were told, or the pipeline ended. */
  const toldTimes = (wanted: number): Promise<void> =>
    new Promise((done) => (told.length >= wanted || fatal.length > 0 ? done() : waiting.push({ wanted, done })));
  return { pipeline, deeds, told, fatal, time, toldTimes };
}

describe('the pipeline', () => {
  test('tells nobody before the commit answered', async () => {
    const { pipeline, deeds, toldTimes } = pipelineOn(memoryStore());
    await pipeline.start();
    pipeline.accept([reading(2), reading(1)]);
    await toldTimes(1);
    expect(deeds).toEqual([
      { deed: 'append', at: [1, 2] },
      { deed: 'stored', at: [1, 2] },
      { deed: 'told', at: [1, 2] },
    ]);
    await pipeline.stop();
  });

  test('commits what a person did before it tells it and before the person hears of it', async () => {
    const { pipeline, deeds, told } = pipelineOn(memoryStore());
    await pipeline.start();
    const deed = { events: [eventOf(reading(7))], audit: [{ at: 7, who: 'A', deed: 'x', subject: 'y' }] };
    const stored = await pipeline.record(deed);
    expect(stored.map(({ seq }) => seq)).toEqual([1]);
    expect(deeds).toEqual([
      { deed: 'append', at: [7] },
      { deed: 'stored', at: [7] },
      { deed: 'told', at: [7] },
    ]);
    expect(told[0]).toMatchObject({ chambers: ['PC-01'], alerts: [] });
    await pipeline.stop();
    await expect(pipeline.record(deed)).rejects.toMatchObject({ code: 'unavailable' });
  });

  test('a deed that cannot be stored ends the pipeline and is told to whoever did it, and so are those that wait', async () => {
    const store = memoryStore();
    const { pipeline, fatal } = pipelineOn(store, { append: () => Promise.reject(new Error('disk')) });
    await pipeline.start();
    const deed = { events: [eventOf(reading(7))], audit: [] };
    const both = await Promise.allSettled([pipeline.record(deed), pipeline.record(deed)]);
    expect(both.map(({ status }) => status)).toEqual(['rejected', 'rejected']);
    expect(fatal).toHaveLength(1);
  });

  test('has one append in flight and gathers what arrives meanwhile', async () => {
    let open = 0;
    let most = 0;
    let let_go: () => void = () => undefined;
    const gate = new Promise<void>((resolve) => (let_go = resolve));
    const { pipeline, deeds, toldTimes } = pipelineOn(memoryStore(), {
      append: async () => {
        most = Math.max(most, (open += 1));
        await gate;
        open -= 1;
      },
    });
    await pipeline.start();
    pipeline.accept([reading(1)]);
    pipeline.accept([reading(2)]);
    pipeline.accept([reading(3)]);
    let_go();
    await toldTimes(2);
    expect(most).toBe(1);
    expect(deeds.filter((d) => d.deed === 'append').map((d) => d.at)).toEqual([[1], [2, 3]]);
    await pipeline.stop();
  });

  test('shows a chamber only as it is committed', async () => {
    let let_go: () => void = () => undefined;
    const gate = new Promise<void>((resolve) => (let_go = resolve));
    const { pipeline, toldTimes } = pipelineOn(memoryStore(), { append: () => gate });
    await pipeline.start();
    pipeline.accept([reading(1)]);
    await Promise.resolve();
    expect(pipeline.chamber('PC-01')).toMatchObject({ seen: 0 });
    let_go();
    await toldTimes(1);
    expect(pipeline.chamber('PC-01')).toMatchObject({ seen: 1 });
    await pipeline.stop();
  });

  test('stores events, the states they led to, alerts and deliveries in one commit', async () => {
    const store = memoryStore();
    const { pipeline, told, toldTimes } = pipelineOn(store);
    await pipeline.start();
    pipeline.accept([reading(1), reading(2), reading(3)]);
    await toldTimes(1);
    expect(told[0]?.alerts.map((a) => a.id)).toEqual(['alert 3']);
    expect((await store.alerts({})).map((a) => a.id)).toEqual(['alert 3']);
    expect((await store.deliveries({})).map((d) => d.id)).toEqual(['alert 3|hook|opened']);
    const snapshots = await store.snapshots();
    expect(JSON.parse(snapshots.get('PC-01') ?? '')).toMatchObject({ seen: 3 });
    expect(snapshots.get('alert-watch')).toBe('{"count":3}');
    expect(snapshots.has('PC-02')).toBe(false);
    await pipeline.stop();
  });

  test('stores the state of a quiet chamber after ten seconds, not at every value', async () => {
    const store = memoryStore();
    const { pipeline, deeds, time, toldTimes } = pipelineOn(store);
    await pipeline.start();
    pipeline.accept([reading(1, 'link.alive')]);
    await toldTimes(1);
    time.steady = 9_999;
    pipeline.accept([reading(2, 'link.alive')]);
    await toldTimes(2);
    expect(deeds.some((d) => d.deed === 'append')).toBe(false);
    time.steady = 10_000;
    pipeline.accept([reading(3, 'link.alive')]);
    await toldTimes(3);
    expect(JSON.parse((await store.snapshots()).get('PC-01') ?? '')).toMatchObject({ seen: 3 });
    await pipeline.stop();
  });

  test('goes on after a restart from what was stored, silent since it was last heard', async () => {
    const store = memoryStore();
    const first = pipelineOn(store);
    await first.pipeline.start();
    first.pipeline.accept([reading(700)]);
    await first.toldTimes(1);
    // No stop: the process was killed.
    const second = pipelineOn(store);
    await second.pipeline.start();
    expect(second.told[0]?.stored).toMatchObject([{ chamber: 'PC-01', at: 700, state: 'unobserved', seq: 2 }]);
    expect(second.pipeline.watchState).toEqual({ count: 2 });
    const third = pipelineOn(store);
    await third.pipeline.start();
    expect(third.told[0]?.stored).toEqual([]);
    await Promise.all([first, second, third].map(({ pipeline }) => pipeline.stop()));
  });

  test('ends, and takes nothing more, when the store fails', async () => {
    const { pipeline, fatal, told, toldTimes } = pipelineOn(memoryStore(), { append: () => Promise.reject(new Error('disk gone')) });
    await pipeline.start();
    pipeline.accept([reading(1)]);
    await toldTimes(1);
    expect(fatal).toMatchObject([{ message: 'disk gone' }]);
    pipeline.accept([reading(2)]);
    await pipeline.stop();
    expect(told).toEqual([]);
  });

  test('ends when a reducer breaks an invariant', async () => {
    const core = { ...tinyCore(), observe: () => { throw new Error('time ran backwards: 5 after 7'); } }; // prettier-ignore
    const { pipeline, fatal, toldTimes } = pipelineOn(memoryStore(), { core });
    await pipeline.start();
    pipeline.accept([reading(1)]);
    await toldTimes(1);
    expect(fatal).toMatchObject([{ message: 'time ran backwards: 5 after 7' }]);
    await pipeline.stop();
  });

  test('works off what waits and stores every state when it stops', async () => {
    const store = memoryStore();
    const { pipeline } = pipelineOn(store);
    await pipeline.start();
    pipeline.accept([reading(1, 'link.alive', 'PC-02'), reading(2)]);
    await pipeline.stop();
    const snapshots = await store.snapshots();
    expect([...snapshots.keys()].sort()).toEqual(['PC-01', 'PC-02', 'alert-watch']);
    expect(await store.events({})).toHaveLength(1);
  });

  test('ignores readings of chambers the site does not have', async () => {
    const { pipeline, told, toldTimes } = pipelineOn(memoryStore());
    await pipeline.start();
    pipeline.accept([reading(1, 'chamber.pressure', 'PC-99'), reading(2)]);
    await toldTimes(1);
    expect(told[0]?.chambers).toEqual(['PC-01']);
    expect(() => pipeline.chamber('PC-99')).toThrow('There is no chamber PC-99.');
    await pipeline.stop();
  });

  test('refuses a damaged stored state with the cure', async () => {
    const store = memoryStore();
    await store.append({ events: [], snapshots: new Map([['PC-01', '{"seen":']]) });
    await expect(pipelineOn(store).pipeline.start()).rejects.toThrow('The stored state of PC-01 is damaged. Put back the last backup');
  });
});

describe('a start while the link hears already', () => {
  const stored = async (heardTo: number): Promise<Store> => {
    const store = memoryStore();
    await store.append({ events: [], snapshots: new Map([['PC-01', JSON.stringify(tinyState(5, heardTo))]]) });
    return store;
  };

  test('goes on without a hole where the stored past reaches beyond the first word, and takes nothing twice', async () => {
    const { pipeline, deeds, toldTimes } = pipelineOn(await stored(100));
    pipeline.accept([reading(95, 'link.alive'), reading(96), reading(100)]);
    await pipeline.start();
    pipeline.accept([reading(101)]);
    await toldTimes(1);
    await pipeline.stop();
    expect(deeds.flatMap(({ deed, at }) => (deed === 'stored' ? at : []))).toEqual([101]);
    expect((pipeline.chamber('PC-01') as Tiny).seen).toBe(6);
  });

  test('leaves the hole where the link began to hear too late', async () => {
    const { pipeline, deeds } = pipelineOn(await stored(90));
    pipeline.accept([reading(95, 'link.alive'), reading(96)]);
    await pipeline.start();
    await pipeline.stop();
    expect(deeds.flatMap(({ deed, at }) => (deed === 'stored' ? at : []))).toEqual([90, 96]);
  });
});
