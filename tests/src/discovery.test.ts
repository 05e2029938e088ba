/** Names as controllers bear them: the demo plant's own, judged by its site file in tests/gateway/site-draft.test.ts, and here a second, unlike kind. */
import { expect, test } from 'vitest';
import { discover } from '../../src/discovery.ts';
import type { FoundVariable } from '../../src/found.ts';
import { isWordOfBits } from '../../src/found-alarms.ts';
import { wordsOf } from '../../src/name-words.ts';

type Row = readonly [name: string, type: FoundVariable['type'], unit?: FoundVariable['unit']];
const variable = (path: readonly string[], [name, type, unit = null]: Row): FoundVariable => ({
  path: [...path, name],
  node: `nsu=urn:other:plc;s=${[...path, name].join('.')}`,
  type,
  unit,
  unitText: unit,
  range: null,
  value: '0',
  description: '',
});

/** Flat names with underscores and process-value endings, a fieldbus style. */
const FLAT: readonly Row[] = [
  ['ProcessPressure_PV', 'number', 'mbar'],
  ['BasePressure_SP', 'number', 'mbar'],
  ['N2_SupplyPressure', 'number', 'kPa'],
  ['MFC1_Flow_PV', 'number', 'sccm'],
  ['MFC1_Flow_SP', 'number', 'sccm'],
  ['MFC2_Flow_PV', 'number', 'sccm'],
  ['MFC2_Flow_SP', 'number', 'sccm'],
  ['RF_FwdPower', 'number', 'W'],
  ['RF_ReflPower', 'number', 'W'],
  ['RF_Power_SP', 'number', 'W'],
  ['Door_Closed', 'boolean'],
  ['MainValve_Opened', 'boolean'],
  ['VentValve_Opened', 'boolean'],
  ['VacPump_Running', 'boolean'],
  ['RecipeName', 'text'],
  ['LotNumber', 'text'],
  ['MachineState', 'integer'],
  ['CoolingWater_Flow', 'number', 'L/min'],
  ['RF_Fault', 'boolean'],
  ['Door_Alarm', 'boolean'],
  ['Operator', 'text'],
];
const chamberAt = (name: string, rows = FLAT): FoundVariable[] => rows.map((row) => variable(['PLC', name], row));
const assigned = (variables: readonly FoundVariable[]): Record<string, string | undefined> =>
  Object.fromEntries(discover(variables)[0]?.candidates.map(({ signal, variable: { path } }) => [signal, path.at(-1)]) ?? []);

test('[DS1] words are cut at capitals, digits and marks, and a letter with its digit is a word too', () => {
  expect(wordsOf('RfFwdPower_PV')).toEqual(['rf', 'fwd', 'power', 'pv']);
  expect(wordsOf('MFC1.Flow')).toEqual(['mfc', '1', 'mfc1', 'flow']);
});

test('[DS1] [DS2] controllers that name things another way are read as well, set points and limits kept apart', () => {
  expect(assigned(chamberAt('Station1'))).toEqual({
    'chamber.pressure': 'ProcessPressure_PV',
    'chamber.doorClosed': 'Door_Closed',
    'pump.running': 'VacPump_Running',
    'pump.chamberValveOpen': 'MainValve_Opened',
    'gas.1.flow': 'MFC1_Flow_PV',
    'gas.1.flowSetPoint': 'MFC1_Flow_SP',
    'gas.2.flow': 'MFC2_Flow_PV',
    'gas.2.flowSetPoint': 'MFC2_Flow_SP',
    'rf.forward': 'RF_FwdPower',
    'rf.reflected': 'RF_ReflPower',
    'rf.forwardSetPoint': 'RF_Power_SP',
    'vent.valveOpen': 'VentValve_Opened',
    'recipe.name': 'RecipeName',
    'load.id': 'LotNumber',
    'sequence.phaseCode': 'MachineState',
    'utility.waterFlow': 'CoolingWater_Flow',
    'utility.nitrogenPressure': 'N2_SupplyPressure',
  });
});

test('[DS1] a wrong unit or type rules a name out', () => {
  const wrong = assigned([
    ...chamberAt('Station1').filter(({ path }) => path.at(-1) !== 'ProcessPressure_PV'),
    variable(['PLC', 'Station1'], ['ProcessPressure_PV', 'number', 'W']),
    variable(['PLC', 'Station1'], ['ChamberPressureText', 'text']),
  ]);
  expect(wrong['chamber.pressure']).toBeUndefined();
});

test('[DS3] of two that fit, the better is taken and the other told', () => {
  const [chamber] = discover([...chamberAt('Station1'), variable(['PLC', 'Station1'], ['Gauge2_Pressure', 'number', 'mbar'])]);
  const pressure = chamber?.candidates.find(({ signal }) => signal === 'chamber.pressure');
  expect([pressure?.variable.path.at(-1), pressure?.others]).toEqual(['ProcessPressure_PV', ['Station1/Gauge2_Pressure']]);
  expect(pressure?.reason).toContain('in mbar');
});

test('[DS4] gas lines without a number are counted in order of their names', () => {
  const rows = FLAT.filter(([name]) => !name.startsWith('MFC'));
  const gases = ['Argon', 'Oxygen'].flatMap((gas) => [
    variable(['PLC', 'Station1', gas], ['Flow', 'number', 'sccm']),
    variable(['PLC', 'Station1', gas], ['FlowSetPoint', 'number', 'sccm']),
  ]);
  const found = discover([...chamberAt('Station1', rows), ...gases])[0]?.candidates ?? [];
  const lines = found.filter(({ signal }) => signal.startsWith('gas.')).map(({ signal, variable: { path } }) => `${signal} ${path.at(-2)}`);
  expect(lines).toEqual(['gas.1.flow Argon', 'gas.1.flowSetPoint Argon', 'gas.2.flow Oxygen', 'gas.2.flowSetPoint Oxygen']);
});

test('[DS5] siblings alike are chambers, the house around them is not; one alone is a chamber too', () => {
  const house = [variable(['PLC', 'House'], ['WaterTemp', 'number', 'degC']), variable(['PLC', 'House'], ['AirPressure', 'number', 'kPa'])];
  const three = ['Station1', 'Station2', 'Station3'].flatMap((name) => chamberAt(name, name === 'Station3' ? FLAT.slice(0, 17) : FLAT));
  expect(discover([...house, ...three]).map(({ name }) => name)).toEqual(['Station1', 'Station2', 'Station3']);
  expect(discover(chamberAt('Only')).map(({ name }) => name)).toEqual(['Only']);
  expect(discover([])).toEqual([]);
  expect(discover(house)).toEqual([]);
});

test('[DS6] booleans under alarm words are alarms, and a repeated name gets a number', () => {
  const again = variable(['PLC', 'Station1', 'Second'], ['RF_Fault', 'boolean']);
  const [chamber] = discover([...chamberAt('Station1'), again]);
  expect(chamber?.alarms.map(({ code }) => code)).toEqual(['RF_FAULT', 'DOOR_ALARM', 'RF_FAULT_2']);
  expect(chamber?.unused.map(({ path }) => path.at(-1))).toEqual(['BasePressure_SP', 'Operator']);
});

const machine = (name: string, rows: readonly Row[] = []): FoundVariable[] => [
  ...rows.map((row) => variable(['Machines', name], row)),
  ...['MachineryItemState', 'MachineryOperationMode'].map((block) =>
    variable(['Machines', name, 'MachineryBuildingBlocks', block], ['CurrentState', 'text']),
  ),
];

test('[DS7] a machine of OPC 40001-1 is a chamber by its item state alone, one or several', () => {
  expect(discover(machine('M1')).map(({ name, candidates }) => [name, candidates.map(({ signal }) => signal)])).toEqual([
    ['M1', ['sequence.mode', 'machine.itemState']],
  ]);
  expect(discover([...machine('M1'), ...machine('M2')]).map(({ name }) => name)).toEqual(['M1', 'M2']);
});

test('[DS7] with instruments of its own the item state is one tag among them', () => {
  const found = discover([...machine('M1', FLAT), ...machine('M2', FLAT)]);
  expect(found.map(({ name }) => name)).toEqual(['M1', 'M2']);
  const signals = found[0]?.candidates.map(({ signal }) => signal) ?? [];
  expect(signals).toEqual(expect.arrayContaining(['chamber.pressure', 'rf.forward', 'machine.itemState', 'sequence.mode']));
});

test('[DS7] item states kept apart from the instruments do not hide the chamber that has those', () => {
  const found = discover([...machine('M1'), ...chamberAt('Station1')]);
  expect(found.flatMap(({ candidates }) => candidates.map(({ signal }) => signal))).toContain('chamber.pressure');
});

/** German names in another manner than any tried before: flat, joined, a description beside, the unit in it. */
const GERMAN: readonly (readonly [name: string, type: FoundVariable['type'], unit: FoundVariable['unit'], description?: string])[] = [
  ['Kammerdruck', 'number', 'mbar'],
  ['KammerdruckGrenzwert', 'number', 'mbar'],
  ['TürGeschlossen', 'boolean', null],
  ['VakuumpumpeLaeuft', 'boolean', null],
  ['Hauptventil_offen', 'boolean', null],
  ['Belüftungsventil_offen', 'boolean', null],
  ['Durchfluss1_Istwert', 'number', 'sccm'],
  ['Durchfluss1_Sollwert', 'number', 'sccm'],
  ['HF_Vorwaertsleistung', 'number', 'W'],
  ['HF_Leistung_Sollwert', 'number', 'W'],
  ['HF_reflektierte_Leistung', 'number', 'W'],
  ['Rezeptname', 'text', null],
  ['Chargennummer', 'integer', null],
  ['Schrittnummer', 'integer', null],
  ['DB7_W12', 'integer', null, 'Betriebsart der Anlage'],
  ['Warnwort2', 'integer', null],
  ['Stoerung_Kuehlwasser', 'boolean', null],
];
const german = (name: string): FoundVariable[] =>
  GERMAN.map(([own, type, unit, description = '']) => ({ ...variable(['SPS', name], [own, type, unit]), description }));

test('[DS8] German names and descriptions are read', () => {
  expect(assigned(german('Anlage'))).toEqual({
    'chamber.pressure': 'Kammerdruck',
    'chamber.doorClosed': 'TürGeschlossen',
    'pump.running': 'VakuumpumpeLaeuft',
    'pump.chamberValveOpen': 'Hauptventil_offen',
    'gas.1.flow': 'Durchfluss1_Istwert',
    'gas.1.flowSetPoint': 'Durchfluss1_Sollwert',
    'rf.forward': 'HF_Vorwaertsleistung',
    'rf.reflected': 'HF_reflektierte_Leistung',
    'rf.forwardSetPoint': 'HF_Leistung_Sollwert',
    'vent.valveOpen': 'Belüftungsventil_offen',
    'recipe.name': 'Rezeptname',
    'recipe.step': 'Schrittnummer',
    'sequence.mode': 'DB7_W12',
    'load.id': 'Chargennummer',
  });
  const mode = discover(german('Anlage'))[0]?.candidates.find(({ signal }) => signal === 'sequence.mode');
  expect(mode?.reason).toMatch(/^its description says "mode"/);
});

test('[DS6] whole numbers named as alarm words are told apart and are no signal', () => {
  const [chamber] = discover(german('Anlage'));
  expect(chamber?.alarmWords.map(({ path }) => path.at(-1))).toEqual(['Warnwort2']);
  expect(chamber?.alarms.map(({ code }) => code)).toEqual(['STOERUNG_KUEHLWASSER']);
});

test('[DS5] siblings in words that nobody here knows are chambers still, with what is missing told; too little of anything is none', () => {
  const strange = FLAT.map(([, type], i): Row => [`Q${i}x`, type]);
  const known: readonly Row[] = [
    ['VacPump_Running', 'boolean'],
    ['RecipeName', 'text'],
    ['LotNumber', 'text'],
  ];
  const chambers = ['Uno', 'Due'].flatMap((name) => chamberAt(name, [...strange, ...known]));
  expect(discover(chambers).map(({ name, missing }) => [name, missing.includes('chamber.pressure')])).toEqual([
    ['Uno', true],
    ['Due', true],
  ]);
  expect(discover(['Uno', 'Due'].flatMap((name) => chamberAt(name, strange)))).toEqual([]);
});

test('[DS9] a supply told once beside the chambers is in each that has none of its own', () => {
  const house = [
    variable(['PLC', 'House'], ['AirPressure', 'number', 'bar']),
    variable(['PLC', 'House'], ['N2_Pressure', 'number', 'bar']),
  ];
  const found = discover([...house, ...['Station1', 'Station2'].flatMap((name) => chamberAt(name))]);
  const supply = (signal: string) => found.map(({ candidates }) => candidates.find((one) => one.signal === signal)?.variable.path.at(-1));
  expect(supply('utility.compressedAirPressure')).toEqual(['AirPressure', 'AirPressure']);
  expect(supply('utility.nitrogenPressure')).toEqual(['N2_SupplyPressure', 'N2_SupplyPressure']);
});

test('[DS10] what can be read goes before what cannot, a text before a number', () => {
  const broken = { ...variable(['PLC', 'Station1'], ['ChamberPressure_PV', 'number', 'mbar']), unread: 'BadNotReadable' };
  const number = variable(['PLC', 'Station1'], ['Recipe_Number', 'integer']);
  const found = assigned([...chamberAt('Station1'), broken, number]);
  expect([found['chamber.pressure'], found['recipe.name']]).toEqual(['ProcessPressure_PV', 'RecipeName']);
  const only = assigned([...chamberAt('Station1').filter(({ path }) => path.at(-1) !== 'RecipeName'), number]);
  expect(only['recipe.name']).toBe('Recipe_Number');
});

test('[DS1] a switch of the vacuum folder that says atmosphere is the atmosphere switch; an open door alone is the door, inverted', () => {
  const extra = [
    variable(['PLC', 'Station1', 'Vacuum'], ['Atm_Switch', 'boolean']),
    variable(['PLC', 'Station1', 'Door'], ['Open', 'boolean']),
  ];
  const [chamber] = discover([...chamberAt('Station1').filter(({ path }) => path.at(-1) !== 'Door_Closed'), ...extra]);
  const of = (signal: string) => chamber?.candidates.find((one) => one.signal === signal);
  expect([of('chamber.atmosphereSwitch')?.variable.path.at(-1), of('chamber.vacuumSwitch')]).toEqual(['Atm_Switch', undefined]);
  expect([of('chamber.doorClosed')?.variable.path.at(-1), of('chamber.doorClosed')?.inverted]).toEqual(['Open', true]);
});

test('[DS8] a name goes before a description that says more', () => {
  const noted = { ...variable(['PLC', 'Station1'], ['B17', 'number', 'mbar']), description: 'actual process pressure of the chamber' };
  expect(assigned([...chamberAt('Station1'), noted])['chamber.pressure']).toBe('ProcessPressure_PV');
  const alone = chamberAt('Station1').filter(({ path }) => path.at(-1) !== 'ProcessPressure_PV');
  expect(assigned([...alone, noted])['chamber.pressure']).toBe('B17');
});

test('[DS11] a word is known by its name or by bits numbered in its description, and only where it is a whole number', () => {
  const is = (name: string, description = '', type: FoundVariable['type'] = 'integer'): boolean =>
    isWordOfBits({ path: ['PC', name], node: '', type, unit: null, unitText: null, range: null, value: '0', description });
  expect([is('StatusWord'), is('Inputs', 'bit0: door closed; bit1: valve'), is('InputRegister')]).toEqual([true, true, true]);
  expect([is('Pressure'), is('StatusWord', '', 'text'), is('Inputs', '16 bit')]).toEqual([false, false, false]);
});
