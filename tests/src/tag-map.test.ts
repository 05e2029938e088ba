import { describe, expect, test } from 'vitest';
import { siteFile } from '../../src/config.ts';
import type { SiteFile } from '../../src/config.ts';
import type { Quality } from '../../src/reading.ts';
import { chamberRules } from '../../src/site-rules.ts';
import { conditionReadings, qualityOf, forgetWords, readingsOf, tagTable } from '../../src/tag-map.ts';
import type { ConditionWord, RawTagValue, TagNode, WordMemory } from '../../src/tag-map.ts';
import { toSi } from '../../src/units.ts';

const NS = 'nsu=urn:quellmoor:plc';
const at = (path: string) => `${NS};s=${path}`;

const site: SiteFile = siteFile.parse({
  site: { name: 'Quellmoor Works', hall: 'Hall 3', zone: 'Europe/Berlin' },
  servers: [{ name: 'plc-1', endpoint: 'opc.tcp://127.0.0.1:48710', security: 'none' }],
  templates: {
    small: {
      rfMaxW: 600,
      basePressurePa: 10,
      phases: { '2': 'pump-down' },
      gases: { '1': { kind: 'CF4', fullScaleSccm: 500, referenceC: 20, correctionFactor: 0.42, fluorinated: true } },
      tags: {
        'chamber.pressure': { node: at('{path}/Pressure'), unit: 'mTorr' },
        'chamber.temperature': { node: at('{path}/Temperature'), unit: 'degC', scale: 0.1, offset: -5 },
        'chamber.doorClosed': { node: at('{path}/DoorOpen'), inverted: true },
        'pump.running': { node: at('{path}/Word'), bit: 3 },
        'vent.valveOpen': { node: at('{path}/Inputs'), bit: 2 },
        'pump.chamberValveOpen': { node: at('{path}/Inputs'), bit: 15, inverted: true },
        'gas.1.flow': { node: at('{path}/Gas1'), unit: 'sccm' },
        'gas.1.flowSetPoint': { node: at('{path}/Gas1Percent'), unit: 'percent-of-full-scale' },
        'sequence.mode': { node: at('{path}/Mode'), words: { '0': 'manual', '1': 'auto' } },
        'recipe.name': { node: at('{path}/Recipe') },
        'meter.cycles': { node: at('{path}/Cycles') },
        'meter.pumpHours': { node: at('{path}/PumpHours'), unit: 'h' },
      },
      alarms: {
        RF_FAULT: { text: 'RF generator fault', priority: 'high', effect: 'stop', from: { node: at('{path}/RfFault') } },
        WATER: { text: 'Water flow low', priority: 'medium', from: { node: at('{path}/Word'), bit: 0 } },
        DOOR: { text: 'Door interlock', priority: 'low', from: { node: at('{path}/Word'), bit: 40 } },
        OVER: { text: 'Overpressure', priority: 'high', effect: 'down', from: { condition: 'Overpressure' } },
      },
      conditions: { notifier: at('{path}') },
    },
  },
  chambers: [
    {
      id: 'PC-01',
      bay: 'Amber',
      floor: { column: 1, row: 1 },
      server: 'plc-1',
      template: 'small',
      path: 'A1',
      tags: { 'meter.cycles': null },
    },
    {
      id: 'PC-02',
      bay: 'Amber',
      floor: { column: 2, row: 1 },
      server: 'plc-1',
      template: 'small',
      path: 'A2',
      tags: { 'chamber.pressure': { node: at('Other/P'), unit: 'Pa' } },
    },
  ],
});
const table = tagTable(site);
const nodeAt = (path: string): TagNode => table.get(path.includes('=') || path.startsWith('link:') ? path : at(path)) as TagNode;

function told(path: string, raw: RawTagValue, quality: Quality = 'good', memory: WordMemory = new Map()) {
  const all: [string, string, unknown, Quality][] = [];
  readingsOf(nodeAt(path), raw, quality, memory, (target, value, q) => all.push([target.chamber, target.signal, value, q]));
  return all;
}
const value = (path: string, raw: RawTagValue) => told(path, raw)[0]?.[2];

describe('the table', () => {
  test('[TM1] the path is filled in, a chamber replaces one tag and takes another away', () => {
    expect(nodeAt('A1/Pressure').targets[0]).toMatchObject({
      chamber: 'PC-01',
      signal: 'chamber.pressure',
      name: 'PC-01\tchamber.pressure',
    });
    expect(table.has(at('A2/Pressure'))).toBe(false);
    expect(value('Other/P', 7)).toBe(7);
    expect(table.has(at('A1/Cycles'))).toBe(false);
    expect(table.has(at('A2/Cycles'))).toBe(true);
  });

  test('[TM1] one server alone gives only its chambers', () => {
    expect(tagTable(site, 'plc-1').size).toBe(table.size);
    expect(tagTable(site, 'another').size).toBe(0);
  });

  test('[TM7] the presence of a server reaches every chamber behind it', () => {
    expect(told('link:plc-1', false)).toEqual([
      ['PC-01', 'link.alive', false, 'good'],
      ['PC-02', 'link.alive', false, 'good'],
    ]);
  });

  test('[TM9] alarms and modes are fast, flows normal, hour meters slow', () => {
    expect(['A1/RfFault', 'A1/Mode', 'A1/Gas1', 'A1/PumpHours'].map((p) => nodeAt(p).sampling)).toEqual(['fast', 'fast', 'normal', 'slow']);
  });
});

describe('values', () => {
  test('[TM2] pressure, scaled temperature, corrected flow, percent of full scale and hours arrive in SI', () => {
    expect(value('A1/Pressure', 100)).toBeCloseTo(13.332236842, 9);
    expect(value('A1/Temperature', 300)).toBeCloseTo(298.15, 9);
    const flow = { referenceC: 20, correctionFactor: 0.42 } as const;
    expect(value('A1/Gas1', 250)).toBeCloseTo(toSi(250, 'sccm', flow), 15);
    expect(value('A1/Gas1Percent', 50)).toBeCloseTo(toSi(250, 'sccm', flow), 15);
    expect(value('A1/PumpHours', 2)).toBe(7200);
  });

  test.each<[string, RawTagValue]>([
    ['A1/Pressure', Number.NaN],
    ['A1/Pressure', Infinity],
    ['A1/Pressure', '12'],
    ['A1/Pressure', true],
    ['A1/Pressure', null],
    ['A1/Pressure', 1e308 * 10],
    ['A1/Recipe', 'x'.repeat(201)],
    ['A1/Recipe', false],
    ['A2/Cycles', 2 ** 53 + 2],
    ['A2/Cycles', 2n ** 60n],
    ['A2/Cycles', 2.5],
    ['A1/Mode', 'constructor'],
    ['A1/Mode', '__proto__'],
    ['A1/RfFault', 2],
    ['A1/RfFault', 'on'],
  ])('[TM3] %s saying %s is bad and has no value', (path, raw) => {
    expect(told(path, raw)).toEqual([[expect.any(String), expect.any(String), null, 'bad']]);
  });

  test('[TM3] bad status is bad whatever the value, uncertain is kept and marked', () => {
    expect(told('A1/Pressure', 5, 'bad')[0]?.slice(2)).toEqual([null, 'bad']);
    expect(told('A1/Pressure', 0, 'uncertain')[0]?.slice(2)).toEqual([0, 'uncertain']);
  });

  test.each([
    ['LOT\u202E7-MQ', 'LOT 7-MQ'],
    [' two\r\nlines\u2028three ', 'two lines three'],
    ['\u2066A\u2069\0', 'A'],
    ['Ä-7 <b>', 'Ä-7 <b>'],
  ])('[TM11] %j is the plain line %j', (raw, plain) => expect(value('A1/Recipe', raw)).toBe(plain));
  test('[TM3] a text of 200 characters is kept', () => expect(value('A1/Recipe', 'x'.repeat(200))).toHaveLength(200));

  test('[TM5] a mode is our word, and a number without a word is bad', () => {
    expect(value('A1/Mode', 1)).toBe('auto');
    expect(told('A1/Mode', 7)[0]?.slice(2)).toEqual([null, 'bad']);
  });

  test('[TM6] an open-door contact is turned around, as boolean or as 0 and 1', () => {
    expect([true, false, 1, 0].map((raw) => value('A1/DoorOpen', raw))).toEqual([false, true, false, true]);
  });

  // OPC 10000-4 7.39.1: severity 00 good, 01 uncertain, 10 bad; 0x480 is Good with the Overflow info bit.
  test('[TM8] the top bits of the status code are the quality', () => {
    expect([0, 0x480, 0x40000000, 0x80000000, 0x80340000].map(qualityOf)).toEqual(['good', 'good', 'uncertain', 'bad', 'bad']);
  });
});

describe('alarms', () => {
  test('[TM4] a word tells all its bits at first sight, then only what changed, and all again after it was bad', () => {
    const memory: WordMemory = new Map();
    const bits = (raw: RawTagValue, quality: Quality = 'good') =>
      told('A1/Word', raw, quality, memory).flatMap(([, signal, v, q]) => (signal === 'pump.running' ? [] : [[signal, v, q]]));
    expect(bits(1)).toEqual([
      ['alarm.WATER', true, 'good'],
      ['alarm.DOOR', false, 'good'],
    ]);
    expect(bits(1)).toEqual([]);
    expect(bits(2 ** 40 + 1)).toEqual([['alarm.DOOR', true, 'good']]);
    expect(bits(null)).toEqual([
      ['alarm.WATER', null, 'bad'],
      ['alarm.DOOR', null, 'bad'],
    ]);
    expect(bits(2 ** 40 + 1)).toEqual([
      ['alarm.WATER', true, 'good'],
      ['alarm.DOOR', true, 'good'],
    ]);
  });

  test('[TM4] a negative 32-bit word and a 64-bit word keep their bits', () => {
    expect(told('A1/Word', -1).map(([, , v]) => v)).toEqual([true, true, true]);
    expect(told('A1/Word', 2n ** 63n + 1n).map(([, , v]) => v)).toEqual([false, true, false]);
  });

  test('[TM4] [TM6] a bit of a word is a yes-or-no signal, turned around where it is inverted, beside alarms in the same word', () => {
    expect(told('A1/Inputs', 0b100)).toEqual([
      ['PC-01', 'vent.valveOpen', true, 'good'],
      ['PC-01', 'pump.chamberValveOpen', true, 'good'],
    ]);
    expect(told('A1/Inputs', 0x8000).map(([, , v]) => v)).toEqual([false, false]);
    expect(told('A1/Word', 9).map(([, signal, v]) => [signal, v])).toEqual([
      ['pump.running', true],
      ['alarm.WATER', true],
      ['alarm.DOOR', false],
    ]);
  });

  test('[TM4] a bit that the type does not have, and any bit of a text or nothing, is bad; of a yes or no only bit 0 is there', () => {
    const inputs = (raw: RawTagValue, bits?: number) => {
      const all: unknown[] = [];
      readingsOf(nodeAt('A1/Inputs'), raw, 'good', new Map(), (_, v, q) => all.push([v, q]), bits);
      return all;
    };
    const bad = [null, 'bad'];
    expect(inputs(-1, 8)).toEqual([[true, 'good'], bad]);
    expect(inputs(-1, 16)).toEqual([
      [true, 'good'],
      [false, 'good'],
    ]);
    for (const raw of ['4', null, true, Number.NaN, 2 ** 60]) expect(inputs(raw)).toEqual([bad, bad]);
  });

  test('[TM4] all bits are told while a word is uncertain, when it is good again, and after a silence', () => {
    const memory: WordMemory = new Map();
    const inputs = (raw: RawTagValue, quality: Quality = 'good') => told('A1/Inputs', raw, quality, memory).map(([, , v, q]) => [v, q]);
    const [sure, unsure] = ['good', 'uncertain'].map((quality) => [
      [true, quality],
      [true, quality],
    ]);
    expect([inputs(4), inputs(4)]).toEqual([sure, []]);
    expect([inputs(4, 'uncertain'), inputs(4), inputs(4)]).toEqual([unsure, sure, []]);
    expect([inputs(4, 'uncertain'), inputs(4, 'uncertain'), inputs(4)]).toEqual([unsure, unsure, sure]);
    forgetWords(memory, ({ server }) => server === 'another');
    expect(inputs(4)).toEqual([]);
    forgetWords(memory);
    expect(inputs(4)).toEqual(sure);
  });

  test('[TM4] a fraction is no word', () => expect(told('A1/Word', 0.5).map(([, , , q]) => q)).toEqual(['bad', 'bad', 'bad']));

  test('[TM1] a condition is addressed by its notifier and name', () => {
    const condition = nodeAt(`${at('A1')}#Overpressure`);
    expect(condition.kind).toBe('condition');
    expect(told(`${at('A1')}#Overpressure`, true)[0]).toEqual(['PC-01', 'alarm.OVER', true, 'good']);
  });

  test('[TM10] a condition tells the sides that are told and have changed, all of them anew after it could not be known', () => {
    const memory: WordMemory = new Map();
    const values = (word: ConditionWord | null) => {
      const all: string[] = [];
      const node = nodeAt(`${at('A1')}#Overpressure`);
      conditionReadings(node, word, memory, ({ signal }, value, quality) => all.push(`${signal} ${String(value)} ${quality}`));
      return all;
    };
    expect(values({ active: true, acknowledged: false })).toEqual(['alarm.OVER true good', 'alarm-acknowledged.OVER false good']);
    expect(values({ active: true, acknowledged: true, shelved: 5 })).toEqual([
      'alarm-acknowledged.OVER true good',
      'alarm-shelved.OVER 5 good',
    ]);
    expect(values({ active: true, acknowledged: true, shelved: 5 })).toEqual([]);
    expect(values(null)).toHaveLength(9);
    expect(values({ active: true })).toEqual(['alarm.OVER true good']);
  });

  test('[TM10] a plain yes or no of a condition is its activity, neither suppressed nor acknowledged', () => {
    const values = (raw: boolean | number) =>
      told(`${at('A1')}#Overpressure`, raw).map(([, signal, value, quality]) => `${String(signal)} ${String(value)} ${quality}`);
    expect(values(true)).toEqual(['alarm.OVER true good', 'alarm-acknowledged.OVER false good', 'alarm-suppressed.OVER false good']);
    expect(values(3)[0]).toBe('alarm.OVER null bad');
  });
});

describe('rules of a chamber', () => {
  test('[SR1] full scale is of the actual gas', () => {
    expect(chamberRules(site, 'PC-01').gases[1]).toEqual({
      kind: 'CF4',
      fluorinated: true,
      fullScaleMolPerS: toSi(500, 'sccm', { referenceC: 20, correctionFactor: 0.42 }),
    });
  });

  test('[SR2] alarms and phases come from the template, the rest from the house defaults', () => {
    const rules = chamberRules(site, 'PC-02');
    expect(rules.alarms['RF_FAULT']).toEqual({
      code: 'RF_FAULT',
      text: 'RF generator fault',
      priority: 'high',
      effect: 'stop',
      notice: false,
    });
    expect(rules).toMatchObject({
      phaseCodes: { '2': 'pump-down' },
      bridgeMs: 10_000,
      frozenMs: 15_000,
      shortestPurgeMs: 20_000,
      rfMaxW: 600,
      basePressurePa: 10,
    });
    expect(() => chamberRules(site, 'PC-99')).toThrow(/PC-99/);
  });
});
