/**
 * The record of a run as it is made live: one per run in the commit of its end, the same from the recorded traces, and once only when the gateway is
 * killed in the middle of it. The simulated plant at 1 Hz through the site file's tag table, the ordering, the reducer and the recorder.
 */
import { expect, test } from 'vitest';
import { siteCore } from '../../gateway/core.ts';
import { Pipeline } from '../../gateway/pipeline.ts';
import { refillRuns } from '../../gateway/run-refill.ts';
import { memoryStore } from '../../gateway/store/memory.ts';
import type { Store } from '../../gateway/store/store.ts';
import { TraceRecorder } from '../../gateway/trace-recorder.ts';
import type { EventOf, StoredEvent } from '../../src/event.ts';
import type { Sample } from '../../src/integral.ts';
import { RECORD_SIGNALS } from '../../src/run-record-input.ts';
import { runRecord } from '../../src/run-record.ts';
import type { SignalName } from '../../src/signal.ts';
import { chamberRules } from '../../src/site-rules.ts';
import { demoSite, plantFeed } from '../accuracy/plant-feed.ts';

const MINUTE = 60_000;
const HOUR = 60 * MINUTE;
const FROM = Date.UTC(2026, 0, 5, 5);
const site = demoSite();

/** One life of the gateway over a store that outlives it. */
async function life(store: Store, feed: ReturnType<typeof plantFeed>) {
  const core = siteCore(site);
  const recorder = new TraceRecorder({ store });
  const time = { steady: 0 };
  const clock = { now: () => feed.plant.now, steadyMs: () => time.steady, speed: 1 };
  let told = Promise.withResolvers<void>();
  const pipeline = new Pipeline({
    store,
    core,
    planned: () => [],
    clock,
    onCommitted: () => told.resolve(),
    onOrdered: (readings) => recorder.record(readings),
    onFatal: (error) => told.reject(error),
  });
  await refillRuns({ samples: core.runSamples, store, recorder });
  await pipeline.start();
  return {
    recorder,
    /** Runs until `to`, ten seconds at a time, each handed over and worked off. */
    async run(to: number): Promise<void> {
      while (feed.plant.now < to) {
        told = Promise.withResolvers<void>();
        for (let s = 0; s < 10; s++) pipeline.accept([...feed.second().values()].flat());
        time.steady += 10_000;
        await told.promise;
        // The turn itself ends just after it told.
        await new Promise(setImmediate);
        await recorder.tick(feed.plant.now);
      }
    },
    stop: async () => {
      await pipeline.stop();
      await recorder.stop();
    },
  };
}

const ended = (events: readonly StoredEvent[]) => events.filter((event) => event.kind === 'run-ended');
const recorded = (events: readonly StoredEvent[]) => events.filter((event) => event.kind === 'run-record');

async function fromTraces(
  recorder: TraceRecorder,
  store: Store,
  run: EventOf<'run-ended'>,
  counts: EventOf<'run-record'>['record']['counts'],
) {
  const { chamber, startedAt, at } = run;
  const trace = await recorder.read({ chamber, signals: RECORD_SIGNALS, from: startedAt - HOUR, to: at + 30_000 });
  const series = new Map(
    trace.signals.map(({ signal, at: times, value }) => [
      signal as SignalName,
      times.map((time, i): Sample => ({ at: time, value: value[i] ?? null })),
    ]),
  );
  const told = await store.events({ chambers: [chamber], kinds: ['alarm', 'finding'], from: startedAt, to: at + 1 });
  const alarms = told.filter((event) => event.kind === 'alarm');
  const findings = told.filter((event) => event.kind === 'finding');
  return runRecord({ run, series, rules: chamberRules(site, chamber), alarms, findings, counts });
}

test(
  'each run that ends leaves one record in the same commit, and the recorded traces give the same again',
  { timeout: 60_000 },
  async () => {
    const memory = memoryStore();
    const commits: string[][] = [];
    const store: Store = {
      ...memory,
      append: (commit) => {
        const kinds = commit.events.map(({ kind }) => kind).filter((kind) => kind.startsWith('run-'));
        if (kinds.length > 0) commits.push(kinds);
        return memory.append(commit);
      },
    };
    const feed = plantFeed({ seed: 3, from: FROM, site });
    const one = await life(store, feed);
    await one.run(FROM + 90 * MINUTE);
    await one.stop();
    for (const kinds of commits)
      expect(kinds.filter((kind) => kind === 'run-ended')).toHaveLength(kinds.filter((kind) => kind === 'run-record').length);
    const [runs, records] = [ended(await store.events({})), recorded(await store.events({}))];
    expect(runs.length).toBeGreaterThan(12);
    expect(records.map(({ run }) => run)).toEqual(runs.map(({ run }) => run));
    for (const [i, run] of runs.entries()) {
      const { seq: _seq, ...fact } = run;
      expect(await fromTraces(one.recorder, store, fact, records[i]!.record.counts)).toEqual(records[i]!.record);
    }
  },
);

test('killed in the middle of runs and started again, no run has two records and none is without', { timeout: 60_000 }, async () => {
  const store = memoryStore();
  const feed = plantFeed({ seed: 3, from: FROM, site });
  // A life that is only let go of: what it had not written is lost, as with the process.
  const first = await life(store, feed);
  await first.run(FROM + 38 * MINUTE);
  const open = [...(await store.snapshots())].flatMap(([, text]) => (JSON.parse(text) as { run?: { run: string } | null }).run?.run ?? []);
  expect(open.length).toBeGreaterThan(3);
  const second = await life(store, feed);
  await second.run(FROM + 100 * MINUTE);
  await second.stop();
  const events = await store.events({});
  const ids = recorded(events).map(({ run }) => run);
  expect(new Set(ids).size).toBe(ids.length);
  expect(ids).toEqual(ended(events).map(({ run }) => run));
  expect(ids.filter((run) => open.includes(run)).length).toBeGreaterThan(3);
  for (const event of recorded(events)) {
    const { energyJ, energyKnownJ, stretches } = event.record;
    const seen = stretches.every(({ from, to, quantities }) => quantities.every(({ knownMs }) => knownMs === to - from));
    if (open.includes(event.run) && stretches.some(({ phase }) => phase === 'plasma'))
      expect(energyJ === null ? !seen : energyKnownJ > 0).toBe(true);
  }
  // Each chamber's counts only grow, run by run.
  for (const own of Map.groupBy(recorded(events), ({ chamber }) => chamber).values())
    for (const [i, { record }] of own.slice(1).entries()) {
      const { counts } = own[i]!.record;
      expect(record.counts.runs).toBe(counts.runs + 1);
      expect(record.counts.pumpMs).toBeGreaterThan(counts.pumpMs);
      expect(record.counts.rfMs).toBeGreaterThanOrEqual(counts.rfMs);
    }
});
