import { expect, test } from 'vitest';
import { initialChamber, observe } from '../../src/chamber.ts';
import { DEFAULT_RULES, type ChamberRules } from '../../src/chamber-rules.ts';
import type { ChamberState } from '../../src/chamber-state.ts';
import type { Reading } from '../../src/reading.ts';
import { droppedBetween, withoutSignals } from '../../src/unmapped.ts';

const rules: ChamberRules = {
  ...DEFAULT_RULES,
  chamber: 'PC-01',
  alarms: {},
  gases: {},
  rfMaxW: 600,
  basePressurePa: 10,
  phaseCodes: null,
};
const say = (
  state: ChamberState,
  signal: string,
  value: Reading['value'],
  at: number,
  quality: Reading['quality'] = 'good',
): ChamberState =>
  observe(rules, state, { chamber: 'PC-01', signal: signal as Reading['signal'], value, quality, at, timeOrigin: 'source', receivedAt: at })
    .state;
const told = (words: readonly [string, Reading['value']][], at = 1000): ChamberState =>
  words.reduce((state, [signal, value]) => say(state, signal, value, at), initialChamber(rules));
const HEARD: [string, Reading['value']][] = [
  ['link.alive', true],
  ['chamber.pressure', 101_325],
  ['chamber.doorClosed', false],
  ['chamber.atmosphereSwitch', true],
];
const settled = say(told(HEARD), 'link.alive', true, 20_000);

const node = { node: 'nsu=u;s=x' };
const template = (tags: string[], alarms: string[]) => ({
  tags: Object.fromEntries(tags.map((tag) => [tag, node])),
  alarms: Object.fromEntries(alarms.map((code) => [code, { text: code, from: node }])),
});
type MapSite = Parameters<typeof droppedBetween>[0];
const site = (ids: string[], tags: string[], alarms: string[], own: object = {}): MapSite =>
  ({ templates: { t: template(tags, alarms) }, chambers: ids.map((id) => ({ id, template: 't', tags: own })) }) as unknown as MapSite;

test('[UM1] what the file before mapped and the file after does not is dropped, of the chambers that stay', () => {
  const before = site(['A', 'B'], ['chamber.pressure', 'pump.running'], ['X', 'Y']);
  expect(droppedBetween(before, site(['A', 'C'], ['chamber.pressure'], ['Y']))).toEqual([
    { chamber: 'A', signals: ['pump.running'], alarms: ['X'] },
  ]);
  expect(droppedBetween(before, before)).toEqual([]);
  expect(droppedBetween(before, site(['A'], ['chamber.pressure', 'pump.running'], ['X', 'Y'], { 'pump.running': null }))).toEqual([
    { chamber: 'A', signals: ['pump.running'], alarms: [] },
  ]);
});

test('[UM2] a signal no longer mapped is as if it had never been told, and not called bad', () => {
  expect(settled.flags.doorOpen.on).toBe(true);
  const bad = say(settled, 'chamber.doorClosed', null, 21_000, 'bad');
  expect(bad.bad).toContain('doorClosed');
  const without = withoutSignals(rules, bad, ['chamber.doorClosed']);
  expect(without.inputs.doorClosed).toBeNull();
  expect(without.flags.doorOpen.on).toBeNull();
  expect(without.bad).toEqual([]);
  expect(withoutSignals(rules, settled, ['chamber.temperature'])).toBe(settled);
});

test('[UM3] a flag that another signal can still decide keeps its value', () => {
  expect(settled.flags.atmosphere.on).toBe(true);
  expect(withoutSignals(rules, settled, ['chamber.atmosphereSwitch']).flags.atmosphere.on).toBe(true);
  expect(withoutSignals(rules, settled, ['chamber.atmosphereSwitch', 'chamber.pressure']).flags.atmosphere.on).toBeNull();
});

test('[UM4] a heartbeat no longer mapped cannot freeze, and frees a chamber that it held frozen', () => {
  const beating = [1, 2, 3, 4].reduce((state, n) => say(state, 'controller.heartbeat', n, 21_000 + n * 1000), settled);
  expect(beating.presence.beatMs).toBeGreaterThan(0);
  const hung = say(beating, 'chamber.pressure', 90_000, 90_000);
  expect(hung.presence).toMatchObject({ frozen: true, word: 'lost' });
  const freed = say(withoutSignals(rules, hung, ['controller.heartbeat']), 'chamber.pressure', 90_001, 100_000);
  expect(freed.presence).toMatchObject({ frozen: false, word: 'heard' });
  const calm = say(withoutSignals(rules, beating, ['controller.heartbeat']), 'chamber.pressure', 90_000, 90_000);
  expect(calm.presence).toMatchObject({ frozen: false, word: 'heard' });
});
