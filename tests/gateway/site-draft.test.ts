/** A draft made of what the simulated controllers show, held against the site file that people wrote for them. */
import { parse } from 'yaml';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { readSite } from '../../gateway/config.ts';
import { createPlant } from '../../gateway/simulator/plant.ts';
import type { SimulatedTag } from '../../gateway/simulator/plant-port.ts';
import { siteDraft } from '../../gateway/site-draft.ts';
import { siteFile } from '../../src/config.ts';
import { discover } from '../../src/discovery.ts';
import type { FoundCondition, FoundVariable } from '../../src/found.ts';
import { tagTable } from '../../src/tag-map.ts';
import { isUnit } from '../../src/units.ts';

const URI = 'urn:quellmoor:hall-3';
const TYPES = { Double: 'number', Boolean: 'boolean', String: 'text', Int32: 'integer', UInt32: 'integer', UInt64: 'integer' } as const;
const plant = createPlant({ seed: 1, from: Date.UTC(2026, 10, 16) });

const shown = ({ path, type, unit, range, description }: SimulatedTag): FoundVariable => ({
  path: ['Hall 3', ...path.split('/')],
  node: `nsu=${URI};s=${path}`,
  type: TYPES[type],
  unit: unit !== null && isUnit(unit) ? unit : null,
  unitText: unit,
  range,
  value: '0',
  description,
});

async function drafted(server: string) {
  const chambers = plant.chambers.filter((chamber) => chamber.server === server);
  const conditions = chambers.flatMap(({ id, conditions: told }): FoundCondition[] =>
    told.map(({ name }) => ({ path: ['Hall 3', id, name], name, notifier: `nsu=${URI};s=${id}` })),
  );
  const found = discover(
    chambers.flatMap(({ tags }) => tags.map(shown)),
    conditions,
  );
  const text = siteDraft({ endpoint: 'opc.tcp://127.0.0.1:4840', security: 'none', policy: 'Basic256Sha256', chambers: found });
  return {
    text,
    site: siteFile.parse(parse(text)),
    written: await readSite(join(import.meta.dirname, '../../gateway/simulator/quellmoor.yaml'), new Map()),
  };
}

describe.each(['amber', 'birch', 'cedar-11', 'cedar-12'])('the draft of server %s', (server) => {
  test('binds every signal to the node that people bound it to, and no other', async () => {
    const { site, written } = await drafted(server);
    const bindings = (of: typeof site): string[] =>
      [...tagTable({ chambers: of.chambers.map((one) => ({ ...one, server: 'plc-1' })), templates: of.templates }, 'plc-1').values()]
        .flatMap(({ node, kind, targets }) => (kind === 'value' ? targets.map(({ name }) => `${name} ${node}`) : []))
        .filter((line) => !line.includes('alarm.'))
        .sort();
    const chambers = written.chambers.filter((chamber) => chamber.server === server);
    expect(bindings(site)).toEqual(bindings({ ...written, chambers }));
  });

  test('is a valid site file, says what to check, and names every alarm told as a condition', async () => {
    const { text, site } = await drafted(server);
    expect(site.chambers.length).toBeGreaterThan(0);
    expect(text).toContain('# CHECK');
    const told = plant.chambers.find((chamber) => chamber.server === server)?.conditions.length ?? 0;
    const conditions = Object.values(Object.values(site.templates)[0]?.alarms ?? {}).filter(({ from }) => 'condition' in from);
    expect(conditions.length).toBe(told);
  });
});

// OPC 40001-1: MachineryOperationMode with its states Processing, Setup, Maintenance, None.
test('the operation mode of a machine in the manner of OPC 40001-1 is read without a mapping', () => {
  const tags = plant.chambers[0]!.tags.filter(({ path }) => !path.endsWith('Sequence/Mode')).map(shown);
  const mode: FoundVariable = {
    ...tags[0]!,
    path: ['Hall 3', 'PC-01', 'MachineryBuildingBlocks', 'MachineryOperationMode', 'CurrentState'],
    node: `nsu=${URI};i=4711`,
    type: 'text',
  };
  const text = siteDraft({ endpoint: 'opc.tcp://h:1', security: 'none', policy: '', chambers: discover([...tags, mode]) });
  const binding = Object.values(siteFile.parse(parse(text)).templates)[0]?.tags['sequence.mode'];
  expect(binding).toEqual({
    node: mode.node,
    words: { Processing: 'auto', None: 'auto', Setup: 'manual', Maintenance: 'maintenance' },
  });
});

test('whatever a server says stays inside its place in the file', () => {
  const evil: FoundVariable = {
    ...shown(plant.chambers[0]!.tags[1]!),
    path: ['Hall', "A'\n#: {x}", 'ProcessPressure'],
    node: "nsu=urn:x;s=a'b # c: {d}",
    value: 'x\n  evil: true',
    description: '# \u202e',
  };
  const more = ['RF_FwdPower', 'VentValve', 'DoorClosed', 'MainValve', 'RecipeName'].map((name, i) => ({
    ...evil,
    path: [...evil.path.slice(0, 2), name],
    node: `${evil.node}${i}`,
    type: (['number', 'boolean', 'boolean', 'boolean', 'text'] as const)[i]!,
    unit: i === 0 ? ('W' as const) : null,
  }));
  const text = siteDraft({ endpoint: 'opc.tcp://h:1', security: 'none', policy: '', chambers: discover([evil, ...more]) });
  const site = siteFile.parse(parse(text));
  expect(Object.keys(site)).not.toContain('evil');
  expect(Object.values(site.templates)[0]?.tags['rf.forward']?.node).toBe("nsu=urn:x;s=a'b # c: {d}0");
});

// No controller of the demo plant is like this one: numbered nodes, German names, units in descriptions, alarms in words.
const FOREIGN: readonly (readonly [path: string, type: FoundVariable['type'], more?: Partial<FoundVariable>])[] = [
  [
    'Vakuum/Druck_Ist',
    'number',
    { unit: 'mbar', unitText: 'mbar', isUnitFromDescription: true, description: 'Kammerdruck [mbar] # neu', value: '1009.123456' },
  ],
  ['Vakuum/Hauptventil_Auf', 'boolean'],
  ['Vakuum/Belueftung_Auf', 'boolean'],
  ['Tuer/Offen', 'boolean', { value: 'true' }],
  ['HF/P_Vorw_Ist', 'number', { unit: 'W', unitText: 'W', range: [0, 600] }],
  ['Gas/MFC1/Ist', 'number', { unit: 'percent', unitText: '%', description: 'Durchfluss O2' }],
  ['Meldungen/StoerWort_1', 'integer', { description: 'Bit 0 Wasser' }],
  ['Diag/Service_Code', 'text', { value: 'BadNotReadable', unread: 'BadNotReadable' }],
  ['Rezept/Schritt_Nr', 'integer', { value: '6' }],
  ['Diag/E_Karte_3', 'integer', { description: 'Bit 0 Tuer zu, Bit 1 Ventil V2' }],
];
const foreign = ['Kammer_A', 'Kammer_B'].flatMap((name, n) =>
  FOREIGN.map(([path, type, more], i): FoundVariable => ({
    ...{ path: ['Anlage', name, ...path.split('/')], node: `nsu=urn:other:plc;i=${(n + 1) * 1000 + i}`, type },
    ...{ unit: null, unitText: null, range: null, value: '0', description: '', ...more },
  })),
);
const foreignDraft = () => siteDraft({ endpoint: 'opc.tcp://h:1', security: 'none', policy: '', chambers: discover(foreign) });

test('chambers with numbered nodes share one template, and every node comes out as it was', () => {
  const site = siteFile.parse(parse(foreignDraft()));
  expect([Object.keys(site.templates), site.chambers.map(({ path }) => path)]).toEqual([['kind-1'], ['1', '2']]);
  const nodes = [...tagTable(site, 'plc-1').values()].filter(({ kind }) => kind === 'value').map(({ node }) => node);
  expect(nodes.length).toBe(14);
  expect(nodes.filter((node) => !foreign.some((variable) => variable.node === node))).toEqual([]);
});

test('a unit from a description, an inverted contact and words of alarm bits are marked; what is not used has its node; nothing said breaks the file', () => {
  const text = foreignDraft();
  const line = (part: string): string => text.split('\n').find((one) => one.includes(part)) ?? '';
  expect(line('chamber.pressure:')).toMatch(
    /unit: mbar } # CHECK: .*in mbar by its description; now 1009\.1, "Kammerdruck \[mbar\] {2}neu"$/,
  );
  expect(line('chamber.doorClosed:')).toMatch(/inverted: true } # CHECK:/);
  expect(line('STOER_WORT_1_BIT_0')).toMatch(/^ {4}# .*node: "nsu=urn:other:plc;i={path}006", bit: 0 .*"Bit 0 Wasser"$/);
  expect(line('Diag/Service_Code')).toMatch(/^ {4}# .*node: "nsu=urn:other:plc;i={path}007" } text, now BadNotReadable$/);
  expect(line('Diag/E_Karte_3')).toMatch(/^ {4}# .*node: "nsu=urn:other:plc;i={path}009", bit: 0 } integer, .*"Bit 0 Tuer zu/);
  // It stands at 6 while the chamber is at atmosphere.
  expect(line('recipe.step:')).toMatch(/counts: all-steps } # CHECK: .*because it counts while nothing can burn; it is plasma-steps where/);
  const atRest = discover(foreign.map((one) => (one.path.at(-1) === 'Schritt_Nr' ? { ...one, value: '0' } : one)));
  expect(siteDraft({ endpoint: 'opc.tcp://h:1', security: 'none', policy: '', chambers: atRest })).toMatch(
    /recipe\.step: { node: "[^"]*" } # CHECK: .*add counts: plasma-steps where .*without it no run is told aborted/,
  );
  expect(line('calendar:')).toContain('CHECK');
});
