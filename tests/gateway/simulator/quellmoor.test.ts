/** The demo's site file fits the simulated plant: nothing it names is missing, nothing that matters is left out. */
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { parse } from 'yaml';
import { ALARMS } from '../../../gateway/simulator/alarm-catalogue.ts';
import { isHoliday } from '../../../gateway/simulator/calendar.ts';
import { GAS_DEVICES, RECIPES } from '../../../gateway/simulator/design.ts';
import { createPlant } from '../../../gateway/simulator/plant.ts';
import { siteFile } from '../../../src/config.ts';
import { siteFaults } from '../../../src/site-check.ts';
import { MONDAY } from './plant-story.ts';

const site = siteFile.parse(parse(readFileSync(new URL('../../../gateway/simulator/quellmoor.yaml', import.meta.url), 'utf8')));
const { chambers } = createPlant({ seed: 1, from: MONDAY });
const NAMESPACE = 'nsu=urn:quellmoor:hall-3;s=';

/** Every node and condition the file names, chamber by chamber, with the unit it claims. */
function named(): Map<string, string | undefined> {
  const found = new Map<string, string | undefined>();
  for (const chamber of site.chambers) {
    const template = site.templates[chamber.template]!;
    const fill = (node: string): string => node.replace('{path}', chamber.path);
    for (const tag of Object.values({ ...template.tags, ...chamber.tags })) if (tag) found.set(fill(tag.node), tag.unit);
    for (const { from } of Object.values(template.alarms)) {
      if ('condition' in from) found.set(`${fill(template.conditions!.notifier)}#${from.condition}`, undefined);
      else found.set(fill(from.node), undefined);
    }
  }
  return found;
}

test('the file parses and makes sense', () => {
  expect(siteFaults(site)).toEqual([]);
  expect(site.alerts.routes).toEqual([]);
});

test('every node of the file is in the plant and every tag and condition of the plant is in the file', () => {
  const exposed = chambers.flatMap((c) => [
    ...c.tags.map((t) => NAMESPACE + t.path),
    ...c.conditions.map((k) => `${NAMESPACE}${c.id}#${k.name}`),
  ]);
  expect([...named().keys()].sort()).toEqual(exposed.sort());
});

test('the file gives each analog tag the unit the controller words', () => {
  const units = named();
  for (const tag of chambers.flatMap((chamber) => chamber.tags)) {
    const claimed = units.get(NAMESPACE + tag.path);
    const percent = tag.unit === 'percent' && tag.path.includes('/Gas') ? 'percent-of-full-scale' : (tag.unit ?? undefined);
    expect([tag.path, claimed]).toEqual([tag.path, percent]);
  }
});

test('chambers, bays and servers are those of the plant', () => {
  expect(site.chambers.map(({ id, bay, server }) => ({ id, bay, server }))).toEqual(
    chambers.map(({ id, bay, server }) => ({ id, bay, server })),
  );
});

test('two chambers, one small and one medium, expose neither phase nor step', () => {
  const silent = chambers.filter((chamber) => !chamber.tags.some((tag) => /PhaseCode|Recipe\/Step/.test(tag.path))).map(({ id }) => id);
  expect(silent).toEqual(['PC-04', 'PC-09']);
  for (const chamber of site.chambers) expect(site.templates[chamber.template]!.phases === undefined).toBe(silent.includes(chamber.id));
});

test('alarm effects, texts and notices of the file are those of the controllers', () => {
  for (const template of Object.values(site.templates)) {
    expect(Object.keys(template.alarms)).toEqual(ALARMS.map(({ code }) => code));
    for (const { code, text, effect } of ALARMS)
      expect([code, template.alarms[code]!.text, template.alarms[code]!.effect]).toEqual([code, text, effect]);
  }
});

test('gas lines have the full scale and correction factor on the instruments of the plant', () => {
  for (const template of Object.values(site.templates)) {
    for (const [line, gas] of Object.entries(template.gases)) {
      if (gas === undefined) throw new Error(`line ${line} is empty`);
      const device = GAS_DEVICES[Number(line) - 1]!;
      expect([gas.fullScaleSccm, gas.correctionFactor]).toEqual([device.fullScale, device.factor]);
    }
  }
});

test('holidays of the file are the days nobody works', () => {
  const dates = site.calendar.holidays.map(({ date }) => date);
  for (let day = Date.UTC(2026, 0, 1); day < Date.UTC(2029, 0, 1); day += 86_400_000) {
    expect([new Date(day).toISOString(), dates.includes(new Date(day).toISOString().slice(0, 10))]).toEqual([
      new Date(day).toISOString(),
      isHoliday(day),
    ]);
  }
});

test('service recipes of the plant are engineering recipes of the file', () => {
  const prefixes = site.engineeringRecipes.map((pattern) => pattern.replace('*', ''));
  for (const { name, service } of Object.values(RECIPES)) expect(prefixes.some((prefix) => name.startsWith(prefix))).toBe(service);
});
