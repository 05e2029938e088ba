import { expect, test } from 'vitest';
import { namesUtility, sharedUtilities, utilityCheck, utilityWords } from '../../src/shared-utility.ts';
import { demoSite } from '../accuracy/plant-feed.ts';

const { utilities, chambers } = demoSite();
const all = chambers.map(({ id }) => id);
const south = ['PC-07', 'PC-09', 'PC-12'];
const names = (of: readonly string[], words: string): string[] => sharedUtilities(utilities, of, words).map(({ name }) => name);

test('[SU1] a utility is shared when it supplies all of them', () => {
  expect(names(south, 'x')).toEqual(['Loop South']);
  expect(sharedUtilities(utilities, ['PC-01', 'PC-99'], 'x')).toEqual([]);
});

test('[SU2] the alarm’s words tell which of several it is; else the one that supplies the fewest besides; else all are named', () => {
  expect(names(south, 'WATER_FLOW_LOW Cooling water flow low')).toEqual(['Loop South']);
  expect(names(south, 'N2_PRESSURE_LOW House nitrogen low')).toEqual(['House nitrogen']);
  expect(names(all, 'POWER_DIP Supply dip detected')).toEqual(['House power']);
  expect(names(all, 'CDA_LOW Compressed air low')).toEqual(['Air ring']);
  expect(names(all, 'EXHAUST_FLOW_LOW Exhaust flow low')).toEqual(['Exhaust fan']);
  expect(names(all, 'GAUGE_FAULT Pressure gauge fault')).toEqual(['House power', 'Air ring', 'House nitrogen', 'Exhaust fan']);
});

test('in words a utility has its kind and its name, and something to check; several are joined, none is said so', () => {
  expect(utilityWords(sharedUtilities(utilities, south, 'x'))).toBe('cooling water (Loop South)');
  expect(utilityWords([])).toBeNull();
  expect(utilityCheck(sharedUtilities(utilities, south, 'x'))).toMatch(/^Check flow and temperature/);
  expect(utilityCheck([])).toMatch(/^Look for what these chambers have in common/);
  expect(utilityCheck(sharedUtilities(utilities, all, 'x'))).toMatch(/the first chamber’s first/);
  expect([namesUtility('RF_POWER_LOW Power below set point'), namesUtility('POWER_DIP Supply dip detected')]).toEqual([false, true]);
});
