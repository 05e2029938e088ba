/** Nodes of unlike servers and the one {path} behind them. */
import { expect, test } from 'vitest';
import { pathed } from '../../gateway/site-draft-path.ts';
import { discover } from '../../src/discovery.ts';
import type { FoundVariable } from '../../src/found.ts';

const NAMES: readonly (readonly [name: string, type: FoundVariable['type']])[] = [
  ['Pressure', 'number'],
  ['ForwardPower', 'number'],
  ['DoorClosed', 'boolean'],
  ['MainValveOpen', 'boolean'],
  ['VentValveOpen', 'boolean'],
  ['RF_Fault', 'boolean'],
];
const found = (chamber: string, nodeOf: (index: number, name: string) => string): FoundVariable[] =>
  NAMES.map(([name, type], i) => ({
    path: ['Plant', chamber, name],
    node: `nsu=urn:other:plc;${nodeOf(i, name)}`,
    type,
    unit: null,
    unitText: null,
    range: null,
    value: '0',
    description: '',
  }));
const shared = (variables: readonly FoundVariable[]): (readonly [string, string])[] => {
  const chambers = pathed(discover(variables));
  return chambers.map((one) => [one.path, one.nodeOf(one.chamber.candidates[0]?.variable.node ?? '')] as const);
};

test('a name in the nodes is the path', () => {
  const variables = ['Left', 'Right'].flatMap((name) => found(name, (_, tag) => `s=${name}.${tag}`));
  expect(shared(variables)).toEqual([
    ['Left', 'nsu=urn:other:plc;s={path}.Pressure'],
    ['Right', 'nsu=urn:other:plc;s={path}.Pressure'],
  ]);
});

test('numbered nodes and data blocks share a template by the stretch that differs', () => {
  const numbered = ['Left', 'Right', 'Third'].flatMap((name, n) => found(name, (i) => `i=${(n + 1) * 1000 + i}`));
  expect(shared(numbered)).toEqual([
    ['1', 'nsu=urn:other:plc;i={path}000'],
    ['2', 'nsu=urn:other:plc;i={path}000'],
    ['3', 'nsu=urn:other:plc;i={path}000'],
  ]);
  const blocks = ['Left', 'Right'].flatMap((name, n) => found(name, (i) => `s=DB${n + 7}.W${i}`));
  expect(shared(blocks).map(([path]) => path)).toEqual(['7', '8']);
});

test('a template filled with its path gives every node back', () => {
  const variables = ['Left', 'Right'].flatMap((name, n) => found(name, (i) => `i=${11_000 + n * 1_000 + i * 37}`));
  for (const { chamber, path, nodeOf } of pathed(discover(variables))) {
    for (const { variable } of chamber.candidates) expect(nodeOf(variable.node).replaceAll('{path}', path)).toBe(variable.node);
    expect(chamber.candidates.length).toBe(5);
  }
});

test('nodes numbered without a rule keep their own numbers, each chamber with a template of its own', () => {
  const variables = ['Left', 'Right'].flatMap((name, n) => found(name, (i) => `i=${5000 + i * 13 + n * (i + 3) * 7}`));
  expect(shared(variables).map(([, node]) => node.includes('{path}'))).toEqual([false, false]);
});

test('a stretch that would be empty for one chamber is no path, which a site file could not hold', () => {
  const variables = ['Left', 'Right'].flatMap((name, n) => found(name, (i) => `s=${n === 0 ? '' : 'Second.'}W${i}`));
  expect(shared(variables).map(([path]) => path)).toEqual(['Left', 'Right']);
});
