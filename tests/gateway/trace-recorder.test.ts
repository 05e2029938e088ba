import { describe, expect, test } from 'vitest';
import { memoryStore } from '../../gateway/store/memory.ts';
import { TraceRecorder } from '../../gateway/trace-recorder.ts';
import type { Reading, SignalValue } from '../../src/reading.ts';
import type { Signal } from '../../src/signal.ts';

const HOUR = 3_600_000;
const start = 500_000 * HOUR;
const reading = (at: number, value: SignalValue, signal: Signal = 'chamber.pressure', chamber = 'PC-01'): Reading => ({
  chamber,
  signal,
  value,
  quality: value === null ? 'bad' : 'good',
  at,
  timeOrigin: 'source',
  receivedAt: at,
});
const pressure = (from: number, to: number) => ({ chamber: 'PC-01', signals: ['chamber.pressure'], from, to });

describe('the trace recorder', () => {
  test('answers from what is written and what still waits, as one', async () => {
    const recorder = new TraceRecorder({ store: memoryStore() });
    recorder.record([reading(start, 1), reading(start + 1000, 2)]);
    await recorder.tick(start + 1000);
    recorder.record([reading(start + 2000, 3)]);
    const trace = await recorder.read(pressure(start + 1000, start + 3000));
    expect(trace.signals).toEqual([{ signal: 'chamber.pressure', at: [start + 1000, start + 2000], value: [2, 3] }]);
  });

  test('what is on its way to the disk is answered too', async () => {
    const store = memoryStore();
    const onDisk = Promise.withResolvers<void>();
    const slow = {
      ...store,
      appendTraces: (segments: Parameters<typeof store.appendTraces>[0]) => onDisk.promise.then(() => store.appendTraces(segments)),
    };
    const recorder = new TraceRecorder({ store: slow });
    recorder.record([reading(start, 1), reading(start + 1000, 2)]);
    const written = recorder.tick(start + 1000);
    recorder.record([reading(start + 2000, 3)]);
    const told = async () => (await recorder.read(pressure(start, start + 3000))).signals[0]?.value;
    await Promise.resolve();
    expect(await told()).toEqual([1, 2, 3]);
    onDisk.resolve();
    await written;
    expect(await told()).toEqual([1, 2, 3]);
  });

  test('draws a bad value and a silent chamber as a gap, once', async () => {
    const recorder = new TraceRecorder({ store: memoryStore() });
    recorder.record([
      reading(start, 1),
      reading(start + 1000, null),
      reading(start + 2000, 2),
      reading(start + 3000, false, 'link.alive'),
      reading(start + 4000, false, 'link.alive'),
      reading(start + 9000, 5),
    ]);
    const [column] = (await recorder.read(pressure(start, start + HOUR))).signals;
    expect(column?.value).toEqual([1, null, 2, null, 5]);
    expect(column?.at).toEqual([0, 1000, 2000, 3000, 9000].map((ms) => start + ms));
  });

  test('writes a steady value again at each full hour while it holds', async () => {
    const recorder = new TraceRecorder({ store: memoryStore() });
    recorder.record([reading(start + 60_000, 7)]);
    await recorder.tick(start + 120_000);
    recorder.record([reading(start + 2.5 * HOUR, true, 'link.alive'), reading(start + 2.6 * HOUR, false, 'link.alive')]);
    recorder.record([reading(start + 3.5 * HOUR, true, 'link.alive')]);
    const [column] = (await recorder.read(pressure(start + HOUR, start + 4 * HOUR))).signals;
    expect(column?.at.map((at) => (at - start) / HOUR)).toEqual([1, 2, 2.6]);
    expect(column?.value).toEqual([7, 7, null]);
  });

  test('after a gap an old word says what holds from its receipt on; while the value is known it stands at its own time', async () => {
    const recorder = new TraceRecorder({ store: memoryStore() });
    const old = (at: number, receivedAt: number, value: SignalValue): Reading => ({ ...reading(at, value), receivedAt });
    recorder.record([reading(start, 1), reading(start + 100_000, false, 'link.alive')]);
    recorder.record([old(start, start + 200_000, 1), old(start + 230_000, start + 300_000, 2)]);
    const [column] = (await recorder.read(pressure(start, start + HOUR))).signals;
    expect(column?.at.map((at) => at - start)).toEqual([0, 100_000, 200_000, 230_000]);
    expect(column?.value).toEqual([1, null, 1, 2]);
  });

  test('a word received after a silence began, and stamped before it, holds through it', async () => {
    const recorder = new TraceRecorder({ store: memoryStore() });
    recorder.record([{ ...reading(start, 1), receivedAt: start + 30_000 }, reading(start + 20_000, false, 'link.alive')]);
    recorder.record([reading(start + 40_000, false, 'link.alive')]);
    const [column] = (await recorder.read(pressure(start, start + HOUR))).signals;
    expect(column?.at.map((at) => at - start)).toEqual([0, 40_000]);
    expect(column?.value).toEqual([1, null]);
  });

  test('merges the minutes of a finished hour into one segment with the same samples', async () => {
    const store = memoryStore();
    const recorder = new TraceRecorder({ store });
    for (let minute = 0; minute < 62; minute += 1) {
      recorder.record([reading(start + minute * 60_000, minute), reading(start + minute * 60_000 + 500, true, 'pump.running')]);
      await recorder.tick(start + minute * 60_000 + 1000);
    }
    const segments = await store.traces('PC-01', start, start + HOUR);
    expect(segments.map((s) => [s.from, s.to])).toEqual([[start, start + HOUR]]);
    const [column] = (await recorder.read(pressure(start, start + HOUR))).signals;
    expect(column?.value).toEqual(Array.from({ length: 60 }, (_, i) => i));
  });

  test('forgets what is older than it is told to keep', async () => {
    const store = memoryStore();
    const recorder = new TraceRecorder({ store, keepDays: 1 });
    recorder.record([reading(start, 1), reading(start + 1, false, 'link.alive')]);
    await recorder.tick(start);
    recorder.record([reading(start + 25 * HOUR, 2)]);
    await recorder.tick(start + 25 * HOUR);
    expect((await recorder.read(pressure(start, start + 26 * HOUR))).signals[0]?.value).toEqual([2]);
  });

  test('a clock that jumps a month ahead takes no more than the oldest hours, and when it is set right all goes on', async () => {
    const store = memoryStore();
    const recorder = new TraceRecorder({ store, keepDays: 1 });
    const begins = async (): Promise<number[]> =>
      (await store.traces('PC-01', 0, Infinity)).map(({ from }) => Math.floor((from - start) / HOUR));
    for (let hour = 0; hour < 24; hour += 1) {
      recorder.record([reading(start + hour * HOUR + 1, hour), reading(start + hour * HOUR + 2, false, 'link.alive')]);
      await recorder.tick(start + hour * HOUR + 60_000);
    }
    const month = 30 * 24;
    recorder.record([reading(start + month * HOUR, 7)]);
    await recorder.tick(start + month * HOUR);
    expect(await begins()).toEqual([...Array.from({ length: 21 }, (_, i) => i + 3), month]);
    // Back again: the hours of the right time are merged as ever.
    recorder.record([reading(start + 24 * HOUR + 1, false, 'link.alive'), reading(start + 24 * HOUR + 60_000, 1)]);
    await recorder.tick(start + 24 * HOUR + 60_000);
    recorder.record([reading(start + 24.5 * HOUR, 2)]);
    await recorder.tick(start + 24.5 * HOUR);
    await recorder.tick(start + 25 * HOUR);
    expect((await begins()).filter((hour) => hour >= 20)).toEqual([20, 21, 22, 23, 24, month]);
  });

  test('keeps no texts, alarms or heartbeats, and nothing out of order', async () => {
    const recorder = new TraceRecorder({ store: memoryStore() });
    recorder.record([
      reading(start, 'ACT-AR-07', 'recipe.name'),
      reading(start, true, 'alarm.RF_FAULT'),
      reading(start, 7, 'controller.heartbeat'),
      reading(start + 1000, 1),
      reading(start, 99),
    ]);
    const signals = ['recipe.name', 'alarm.RF_FAULT', 'controller.heartbeat', 'chamber.pressure'];
    const trace = await recorder.read({ chamber: 'PC-01', signals, from: start, to: start + HOUR });
    expect(trace.signals.map((s) => s.value)).toEqual([[], [], [], [1]]);
  });

  test('writes what is left when it stops', async () => {
    const store = memoryStore();
    const recorder = new TraceRecorder({ store });
    recorder.record([reading(start, 1)]);
    await recorder.stop();
    expect(await store.traces('PC-01', start, start + 1)).toHaveLength(1);
  });
});
