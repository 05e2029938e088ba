import { DataType, DataValue, StatusCodes, StatusCode, Variant, VariantArrayType } from 'node-opcua';
import { expect, test } from 'vitest';
import { EventTime } from '../../../gateway/opcua/event-time.ts';
import { Intake } from '../../../gateway/opcua/intake.ts';
import { Outbox } from '../../../gateway/opcua/outbox.ts';
import { rawValue } from '../../../gateway/opcua/raw-value.ts';
import { originOfTag, qualityOfTag } from '../../../gateway/opcua/wire.ts';
import { eachInBatch } from '../../../src/batch.ts';
import type { Batch } from '../../../src/batch.ts';
import { tagTable } from '../../../src/tag-map.ts';
import type { TagTarget } from '../../../src/tag-map.ts';
import { nodeText } from './fixture-server.ts';
import { siteWith } from './heard.ts';

const NOW = Date.UTC(2026, 10, 25, 10);
const OVERFLOW = StatusCode.makeStatusCode(StatusCodes.Good, 'InfoTypeDataValue | Overflow');

const TAGS: Record<string, unknown> = { 'chamber.pressure': { node: nodeText('{path}/P') }, 'rf.forward': { node: nodeText('{path}/W') } };

function intake(tags = TAGS) {
  const table = tagTable(siteWith(1, { tags }));
  const nodes = [...table.values()].filter(({ kind }) => kind === 'value');
  const batches: Batch[] = [];
  const outbox = new Outbox((batch, done) => (batches.push(batch), done()));
  const presence = new Map<string, TagTarget>([['PC-01', table.get('link:plc-1')?.targets[0] as TagTarget]]);
  const taken = new Intake({ nodes, clocks: new Map([['PC-01', new EventTime(5000)]]), outbox, presence });
  const names: string[] = [];
  const told = () => {
    outbox.flush();
    const all: unknown[][] = [];
    for (const batch of batches.splice(0)) {
      names.push(...batch.names);
      eachInBatch({ ...batch, names }, (name, at, value, tag) => all.push([name, at - NOW, value, qualityOfTag(tag), originOfTag(tag)]));
    }
    return all;
  };
  return { taken, told };
}

const double = (value: number, atMs: number, statusCode: StatusCode = StatusCodes.Good) =>
  new DataValue({ value: new Variant({ dataType: DataType.Double, value }), statusCode, sourceTimestamp: new Date(NOW + atMs) });

test('a value is told with its signal, source time, quality and clock', () => {
  const { taken, told } = intake();
  taken.message(
    [
      { tag: 0, value: double(5, -200) },
      { tag: 1, value: double(Number.NaN, -100) },
    ],
    NOW,
    true,
  );
  expect(told()).toEqual([
    ['PC-01\tchamber.pressure', -200, 5, 'good', 'source'],
    ['PC-01\trf.forward', -100, null, 'bad', 'source'],
  ]);
});

test('a bit of a word is told by the width of its type, read back as live, and anew after a silence', () => {
  const bit = (bit: number) => ({ node: nodeText('{path}/Inputs'), bit });
  const { taken, told } = intake({ 'chamber.doorClosed': { ...bit(3), inverted: true }, 'vent.valveOpen': bit(20) });
  const word = (dataType: DataType, value: unknown, atMs: number) => [
    { tag: 0, value: new DataValue({ value: new Variant({ dataType, value }), sourceTimestamp: new Date(NOW + atMs) }) },
  ];
  const values = () => told().map(([name, at, value, quality]) => [String(name).split('\t')[1], at, value, quality]);
  taken.message(word(DataType.Int16, -1, -300), NOW, true);
  expect(values()).toEqual([
    ['chamber.doorClosed', -300, false, 'good'],
    ['vent.valveOpen', -300, null, 'bad'],
  ]);
  taken.message(word(DataType.UInt32, 0x100000, -200), NOW, true);
  expect(values().map(([, , value]) => value)).toEqual([true, true]);
  taken.message(word(DataType.String, '8', -150), NOW, true);
  expect(values().map(([, , value]) => value)).toEqual([null, null]);
  taken.archived([...word(DataType.UInt32, 8, -140), ...word(DataType.UInt32, 0, -130)], new Set(['PC-01']));
  expect(values()).toEqual([
    ['chamber.doorClosed', -140, false, 'good'],
    ['vent.valveOpen', -140, false, 'good'],
    ['chamber.doorClosed', -130, true, 'good'],
  ]);
  taken.message(word(DataType.UInt32, 0, -100), NOW, true);
  expect(values()).toEqual([]);
  taken.forgetWords();
  taken.message(word(DataType.UInt32, 0, -50), NOW, true);
  expect(values()).toHaveLength(2);
});

test('first values of a session are timed by receipt until the newest of them shows that the clock goes right; a contact with a clock that stands never', () => {
  const { taken, told } = intake();
  const times = () => told().map(([name, at, , , origin]) => [String(name).split('.')[1], at, origin]);
  taken.message(
    [
      { tag: 0, value: double(5, -40_000) },
      { tag: 1, value: double(0, -90_000) },
    ],
    NOW,
    false,
  );
  expect(times()).toEqual([
    ['pressure', 0, 'receipt'],
    ['forward', 0, 'receipt'],
  ]);
  taken.message(
    [
      { tag: 1, value: double(0, -90_000) },
      { tag: 0, value: double(6, -20) },
    ],
    NOW,
    false,
  );
  expect(times()).toEqual([
    ['forward', -90_000, 'source'],
    ['pressure', -20, 'source'],
  ]);
  taken.message(
    [
      { tag: 0, value: double(7, -10) },
      { tag: 1, value: double(0, -10_800_000) },
    ],
    NOW,
    true,
  );
  expect(times()).toEqual([
    ['pressure', -10, 'source'],
    ['forward', 0, 'receipt'],
  ]);
});

// OPC 10000-4 5.13.1.5: the value after the loss bears Overflow. The hole runs from the value before it to the value after it.
test('values lost in the server are one hole per chamber, from the last value before to the last value after', () => {
  const { taken, told } = intake();
  taken.message(
    [
      { tag: 0, value: double(1, -60_000) },
      { tag: 1, value: double(1, -59_000) },
    ],
    NOW - 59_000,
    true,
  );
  told();
  taken.message(
    [
      { tag: 0, value: double(2, -20_000, OVERFLOW) },
      { tag: 1, value: double(2, -19_000, OVERFLOW) },
      { tag: 0, value: double(3, -100) },
    ],
    NOW,
    false,
  );
  const all = told();
  expect(all.slice(0, 3).map(([name, at, value]) => [name, at, value])).toEqual([
    ['PC-01\tchamber.pressure', -20_000, 2],
    ['PC-01\trf.forward', -19_000, 2],
    ['PC-01\tchamber.pressure', -100, 3],
  ]);
  expect(all.slice(3)).toEqual([['PC-01\tlink.hole', -19_000, NOW - 60_000, 'good', 'source']]);
  expect(taken.overflows).toBe(2);
});

test('an outbox that is not emptied keeps 200 000 values, counts the rest and tells the hole', () => {
  const waiting: (() => void)[] = [];
  const sent: Batch[] = [];
  const outbox = new Outbox((batch, done) => (sent.push(batch), waiting.push(done)));
  const target = { chamber: 'PC-01', name: 'PC-01\trf.forward' } as TagTarget;
  const kept = 32 * 2000 + 200_000;
  for (let i = 0; i < kept + 7; i++) outbox.add(target, NOW + i, i, 0);
  expect([sent.length, outbox.dropped]).toEqual([32, 7]);
  while (waiting.length > 0) {
    for (const done of waiting.splice(0)) done();
    outbox.flush();
  }
  outbox.add(target, NOW + kept + 7, 1, 0);
  outbox.flush();
  expect(sent.reduce((sum, batch) => sum + batch.at.length, 0)).toBe(kept + 2);
  expect(sent.flatMap(({ names }) => names)).toEqual([target.name, 'PC-01\tlink.alive']);
  expect([...(sent.at(-1) as Batch).at]).toEqual([NOW + kept, NOW + kept + 7]);
});

test('64-bit integers are exact, texts are plain, arrays and dates are nothing', () => {
  const scalar = (dataType: DataType, value: unknown) => rawValue(new Variant({ dataType, arrayType: VariantArrayType.Scalar, value }));
  expect(scalar(DataType.UInt64, [0, 1234])).toBe(1234);
  expect(scalar(DataType.UInt64, [0x80000000, 1])).toBe(2n ** 63n + 1n);
  expect(scalar(DataType.Int64, [0xffffffff, 0xffffffff])).toBe(-1);
  expect(scalar(DataType.LocalizedText, { text: 'auto' })).toBe('auto');
  expect(scalar(DataType.DateTime, new Date(NOW))).toBeNull();
  expect(rawValue(new Variant({ dataType: DataType.Double, arrayType: VariantArrayType.Array, value: [1, 2] }))).toBeNull();
});
