/**
 * What a chamber's controller exposes: one row per quantity, and which chambers have it. Values are drawn from the state in report.ts; the
 * order here is the order there.
 */
import { ALARMS } from './alarm-catalogue.ts';
import { type ChamberDesign, GAS_DEVICES, GASES } from './design.ts';
import type { SimulatedCondition, SimulatedTag } from './plant-port.ts';

type Row = {
  readonly key: string;
  readonly path: string;
  readonly type: SimulatedTag['type'];
  readonly unit?: string;
  readonly range?: (design: ChamberDesign) => readonly [number, number];
  readonly text: string;
  readonly fits?: (design: ChamberDesign) => boolean;
};
const tells = (design: ChamberDesign): boolean => !design.silentSequence;
const matched = (design: ChamberDesign): boolean => design.sizeName !== 'S';
const power = (design: ChamberDesign): readonly [number, number] => [0, design.size.rfMaxW];

/** Surface chambers have argon and no CF4, drill chambers the other way round. */
export const hasGas = (design: ChamberDesign, line: number): boolean => (design.sizeName === 'S' ? line !== 1 : line !== 3);

function gasRows(line: number): Row[] {
  const fits = (design: ChamberDesign): boolean => hasGas(design, line);
  const flow = (design: ChamberDesign): readonly [number, number] => (design.flowInPercent ? [0, 100] : [0, GAS_DEVICES[line]!.fullScale]);
  const kind = GASES[line]!;
  const at = `Gas${line + 1}`;
  return [
    { key: `flow${line}`, path: `${at}/Flow`, type: 'Double', unit: 'flow', range: flow, text: `${kind} flow`, fits },
    { key: `flowSet${line}`, path: `${at}/FlowSetPoint`, type: 'Double', unit: 'flow', range: flow, text: `${kind} flow set point`, fits },
    { key: `gasValve${line}`, path: `${at}/ValveOpen`, type: 'Boolean', text: `${kind} valve open`, fits },
  ];
}

const ROWS: readonly Row[] = [
  { key: 'heartbeat', path: 'Controller/Heartbeat', type: 'UInt32', text: 'Counts once a second' },
  {
    key: 'pressure',
    path: 'Chamber/Pressure',
    type: 'Double',
    unit: 'pressure',
    range: (d) => (d.bay === 'Cedar' ? [0, 266.6] : [0, 2000]),
    text: 'Chamber pressure',
  },
  { key: 'atmosphere', path: 'Chamber/AtmosphereSwitch', type: 'Boolean', text: 'Chamber at atmosphere' },
  { key: 'vacuum', path: 'Chamber/VacuumSwitch', type: 'Boolean', text: 'Vacuum good for RF' },
  { key: 'doorClosed', path: 'Chamber/DoorClosed', type: 'Boolean', text: 'Door closed', fits: (d) => d.bay !== 'Birch' },
  { key: 'doorOpen', path: 'Chamber/DoorOpen', type: 'Boolean', text: 'Door open', fits: (d) => d.bay === 'Birch' },
  { key: 'temperature', path: 'Chamber/Temperature', type: 'Double', unit: 'degC', range: () => [0, 120], text: 'Electrode temperature' },
  { key: 'pumpRunning', path: 'Pump/Running', type: 'Boolean', text: 'Vacuum pump running' },
  { key: 'boosterRunning', path: 'Pump/BoosterRunning', type: 'Boolean', text: 'Booster running' },
  { key: 'chamberValve', path: 'Pump/ChamberValveOpen', type: 'Boolean', text: 'Chamber valve open' },
  {
    key: 'bodyTemperature',
    path: 'Pump/BodyTemperature',
    type: 'Double',
    unit: 'degC',
    range: () => [0, 150],
    text: 'Pump body temperature',
  },
  ...[0, 1, 2, 3].flatMap(gasRows),
  { key: 'rfEnabled', path: 'Rf/Enabled', type: 'Boolean', text: 'RF switched on' },
  { key: 'forward', path: 'Rf/Forward', type: 'Double', unit: 'W', range: power, text: 'Forward power' },
  { key: 'reflected', path: 'Rf/Reflected', type: 'Double', unit: 'W', range: power, text: 'Reflected power' },
  { key: 'rfSet', path: 'Rf/SetPoint', type: 'Double', unit: 'W', range: power, text: 'Forward power set point' },
  { key: 'matchC1', path: 'Rf/MatchC1', type: 'Double', unit: 'percent', range: () => [0, 100], text: 'Match capacitor 1', fits: matched },
  { key: 'matchC2', path: 'Rf/MatchC2', type: 'Double', unit: 'percent', range: () => [0, 100], text: 'Match capacitor 2', fits: matched },
  { key: 'ventValve', path: 'Vent/ValveOpen', type: 'Boolean', text: 'Vent valve open' },
  { key: 'step', path: 'Recipe/Step', type: 'Int32', text: 'Recipe step, 0 outside plasma', fits: tells },
  { key: 'stepCount', path: 'Recipe/StepCount', type: 'Int32', text: 'Steps of the recipe', fits: tells },
  {
    key: 'stepDuration',
    path: 'Recipe/StepDuration',
    type: 'Double',
    unit: 's',
    range: () => [0, 7200],
    text: 'Step time set point',
    fits: tells,
  },
  {
    key: 'stepElapsed',
    path: 'Recipe/StepElapsed',
    type: 'Double',
    unit: 's',
    range: () => [0, 7200],
    text: 'Step time gone by',
    fits: (d) => d.bay === 'Cedar',
  },
  { key: 'phaseCode', path: 'Sequence/PhaseCode', type: 'Int32', text: 'Phase of the sequence', fits: tells },
  { key: 'mode', path: 'Sequence/Mode', type: 'Int32', text: '1 auto, 2 manual, 3 maintenance' },
  { key: 'waterFlow', path: 'Utility/WaterFlow', type: 'Double', unit: 'L/min', range: () => [0, 20], text: 'Cooling water flow' },
  {
    key: 'compressedAir',
    path: 'Utility/CompressedAir',
    type: 'Double',
    unit: 'kPa',
    range: () => [0, 1000],
    text: 'Compressed air pressure',
    fits: matched,
  },
  { key: 'nitrogen', path: 'Utility/Nitrogen', type: 'Double', unit: 'kPa', range: () => [0, 1000], text: 'House nitrogen pressure' },
  { key: 'pumpHours', path: 'Meter/PumpHours', type: 'Double', unit: 'h', range: () => [0, 100000], text: 'Pump hours, resettable' },
  { key: 'rfHours', path: 'Meter/RfHours', type: 'Double', unit: 'h', range: () => [0, 100000], text: 'RF hours, resettable' },
  { key: 'cycles', path: 'Meter/Cycles', type: 'UInt32', text: 'Chamber cycles, resettable' },
  { key: 'word1', path: 'Alarm/Word1', type: 'UInt32', text: 'Alarms 1 to 16', fits: (d) => d.alarmsBy === 'word' },
  { key: 'word2', path: 'Alarm/Word2', type: 'UInt32', text: 'Alarms 17 to 32', fits: (d) => d.alarmsBy === 'word' },
  { key: 'recipe', path: 'Recipe/Name', type: 'String', text: 'Recipe on the screen' },
  { key: 'loadId', path: 'Load/Id', type: 'String', text: 'Load in the chamber' },
];

/** The number of a quantity: its place in the list. */
export const QUANTITY_COUNT = ROWS.length;
export function quantity(key: string): number {
  const index = ROWS.findIndex((row) => row.key === key);
  if (index < 0) throw new Error(`no quantity ${key}`);
  return index;
}

export type Layout = {
  readonly tags: readonly SimulatedTag[];
  readonly conditions: readonly SimulatedCondition[];
  /** Tag index of each quantity, -1 where the chamber has none. */
  readonly tagOf: Int16Array;
  /** Tag index of each alarm, -1 where alarms come otherwise. */
  readonly alarmTag: Int16Array;
};

export function layoutOf(design: ChamberDesign): Layout {
  const tags: SimulatedTag[] = [];
  const tagOf = new Int16Array(ROWS.length).fill(-1);
  ROWS.forEach((row, index) => {
    if (row.fits !== undefined && !row.fits(design)) return;
    tagOf[index] = tags.length;
    tags.push({
      path: `${design.id}/${row.path}`,
      type: row.type,
      unit: unitOf(row, design),
      range: row.range?.(design) ?? null,
      description: row.text,
    });
  });
  const alarmTag = new Int16Array(ALARMS.length).fill(-1);
  if (design.alarmsBy === 'boolean') {
    ALARMS.forEach(({ code, text }, index) => {
      alarmTag[index] = tags.length;
      tags.push({ path: `${design.id}/Alarm/${code}`, type: 'Boolean', unit: null, range: null, description: text });
    });
  }
  const conditions =
    design.alarmsBy === 'condition' ? ALARMS.map(({ code, text, severity }) => ({ name: code, message: text, severity })) : [];
  return { tags, conditions, tagOf, alarmTag };
}

function unitOf(row: Row, design: ChamberDesign): string | null {
  if (row.unit === 'flow') return design.flowInPercent ? 'percent' : 'sccm';
  if (row.unit === 'pressure') return design.bay === 'Cedar' ? 'Pa' : 'mTorr';
  return row.unit ?? null;
}
