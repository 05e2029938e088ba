import { readFileSync } from 'node:fs';
import { beforeEach, describe, expect, test } from 'vitest';
import { parseSite } from '../../gateway/config.ts';
import { siteCore } from '../../gateway/core.ts';
import { HistoryIntake } from '../../gateway/history-intake.ts';
import { memoryStore } from '../../gateway/store/memory.ts';
import type { Store } from '../../gateway/store/store.ts';
import { TraceRecorder } from '../../gateway/trace-recorder.ts';
import { batchBuilder, type Batch, type BatchValue } from '../../src/batch.ts';

const FILE = 'tests/configs/good-small.yaml';
const site = parseSite(FILE, readFileSync(FILE, 'utf8'));
const START = Date.UTC(2026, 9, 5);
const MINUTE = 60_000;
const DOOR = 'nsu=urn:plant;s=PC-01/DoorClosed';
const PRESSURE = 'nsu=urn:plant;s=PC-01/Pressure';

const batch = (...values: [string, number, BatchValue][]): Batch => {
  const builder = batchBuilder();
  for (const [name, minute, value] of values) builder.add(name, START + minute * MINUTE, value);
  return builder.take();
};

let store: Store;
beforeEach(() => {
  store = memoryStore();
});

const intake = (tracesFromMinute = 0): { intake: HistoryIntake; recorder: TraceRecorder } => {
  const recorder = new TraceRecorder({ store });
  const parts = { site, core: siteCore(site), store, recorder, from: START, tracesFrom: START + tracesFromMinute * MINUTE };
  return { intake: new HistoryIntake(parts), recorder };
};
const states = async () =>
  (await store.events({ kinds: ['equipment-state'] })).map((e) => [(e.at - START) / MINUTE, e.kind === 'equipment-state' ? e.state : '']);

describe('taking a past into the books', () => {
  test('the chamber is heard during the whole span, although its values are sparse', async () => {
    const past = intake();
    await past.intake.take(batch([DOOR, 0, true], [PRESSURE, 0, 760_000], [PRESSURE, 600, 759_000]));
    await past.intake.end(START + 700 * MINUTE, new Map());
    expect((await states()).map(([, state]) => state)).not.toContain('unobserved');
    const snapshot = JSON.parse((await store.snapshots()).get('PC-01') ?? '') as { now: number };
    expect(snapshot.now).toBe(START + 700 * MINUTE);
  });

  test('an absent server leaves a hole from its last word to its next', async () => {
    const past = intake();
    await past.intake.take(
      batch([DOOR, 0, true], [PRESSURE, 0, 760_000], ['link:amber', 60, false], [PRESSURE, 70, 1], ['link:amber', 90, true]),
    );
    await past.intake.end(START + 120 * MINUTE, new Map());
    const holes = (await states()).filter(([minute]) => (minute as number) >= 60);
    expect(holes[0]).toEqual([60, 'unobserved']);
    expect(holes[1]?.[0]).toBeCloseTo(90, 0);
    expect(holes[1]?.[1]).not.toBe('unobserved');
  });

  test('the same past taken twice is in the books once', async () => {
    const run = async (): Promise<number> => {
      const past = intake();
      await past.intake.take(batch([DOOR, 0, true], [PRESSURE, 0, 760_000], [DOOR, 10, false], [DOOR, 60, true], [PRESSURE, 200, 1]));
      await past.intake.end(START + 240 * MINUTE, new Map());
      return (await store.events({})).length;
    };
    const once = await run();
    expect(once).toBeGreaterThan(0);
    expect(await run()).toBe(once);
  });

  test('keeps traces only of the last stretch', async () => {
    const past = intake(120);
    await past.intake.take(batch([PRESSURE, 60, 1000], [PRESSURE, 130, 2000]));
    await past.intake.end(START + 140 * MINUTE, new Map());
    const query = { chamber: 'PC-01', signals: ['chamber.pressure'], from: START, to: START + 200 * MINUTE };
    // What was told before holds when the kept stretch begins.
    expect((await past.recorder.read(query)).signals[0]?.at).toEqual([START + 120 * MINUTE, START + 130 * MINUTE]);
  });

  test('stores the marks of its caller together with the last states, never before', async () => {
    const past = intake();
    await past.intake.take(batch([PRESSURE, 60, 1000]));
    expect((await store.snapshots()).size).toBe(0);
    await past.intake.end(START + 61 * MINUTE, new Map([['demo', '{"done":true}']]));
    expect([...(await store.snapshots()).keys()].sort()).toEqual(['PC-01', 'alert-watch', 'demo']);
  });

  test('a bit of a word is told anew after the server was away, though it did not change', async () => {
    const text = readFileSync(FILE, 'utf8').replace("s={path}/DoorClosed' }", "s={path}/Inputs', bit: 2 }");
    const recorder = new TraceRecorder({ store });
    const own = parseSite(FILE, text);
    const past = new HistoryIntake({ site: own, core: siteCore(own), store, recorder, from: START, tracesFrom: START });
    const INPUTS = 'nsu=urn:plant;s=PC-01/Inputs';
    await past.take(batch([INPUTS, 0, 5], [INPUTS, 10, 4], ['link:amber', 60, false], ['link:amber', 90, true], [INPUTS, 90, 4]));
    await past.end(START + 120 * MINUTE, new Map());
    const query = { chamber: 'PC-01', signals: ['chamber.doorClosed'], from: START, to: START + 120 * MINUTE };
    const { at = [], value = [] } = (await recorder.read(query)).signals[0] ?? {};
    expect(at.map((each, i) => [(each - START) / MINUTE, value[i]])).toEqual([
      [0, 1],
      [60, null],
      [90, 1],
    ]);
  });

  test('names that the site does not bind are passed over', async () => {
    const past = intake();
    await past.intake.take(batch(['nsu=urn:plant;s=PC-77/Pressure', 1, 5]));
    await past.intake.end(START + 2 * MINUTE, new Map());
    expect(past.intake.progress).toEqual({ at: START + 2 * MINUTE, values: 1 });
  });
});
