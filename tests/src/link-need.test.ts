import { describe, expect, test } from 'vitest';
import { siteFile, type SiteFile } from '../../src/config.ts';
import { linkChange, linkNeed } from '../../src/link-need.ts';

type Loose = any; // eslint-disable-line @typescript-eslint/no-explicit-any -- edits of a plain copy
const node = (path: string): string => `nsu=urn:quellmoor:plc;s={path}/${path}`;
const site = siteFile.parse({
  site: { name: 'Quellmoor Works', hall: 'Hall 3', zone: 'Europe/Berlin' },
  servers: ['amber', 'birch', 'cedar'].map((name, i) => ({ name, endpoint: `opc.tcp://127.0.0.1:${5000 + i}` })),
  templates: {
    small: {
      rfMaxW: 600,
      basePressurePa: 10,
      gases: { '1': { kind: 'O2', fullScaleSccm: 500 } },
      tags: { 'chamber.pressure': { node: node('Pressure'), unit: 'Pa' } },
      alarms: { RF_FAULT: { text: 'RF fault', priority: 'high', from: { node: node('Fault') } } },
    },
  },
  chambers: ['amber', 'birch'].map((server, i) => ({
    id: `PC-0${i + 1}`,
    bay: 'Amber',
    floor: { column: i + 1, row: 1 },
    server,
    template: 'small',
    path: `P${i + 1}`,
  })),
});
const after = (edit: (copy: Loose) => void): SiteFile => {
  const copy = structuredClone(site);
  edit(copy);
  return siteFile.parse(copy);
};

describe('the links that another site file concerns', () => {
  test('[LK1] words, priorities, places and limits leave every link as it is', () => {
    const other = after((copy) => {
      copy.templates.small.rfMaxW = 900;
      copy.templates.small.alarms.RF_FAULT.text = 'Generator fault';
      copy.templates.small.alarms.RF_FAULT.priority = 'low';
      copy.chambers[0].bay = 'Willow';
      copy.calendar = { shifts: [{ name: 'Day', days: ['mon'], from: '06:00', to: '14:00' }], changes: [], holidays: [] };
    });
    expect(linkChange(site, other)).toEqual({ kept: ['amber', 'birch'], renewed: [], begun: [], ended: [] });
  });

  test.each<[string, (copy: Loose) => void]>([
    ['a tag', (copy) => (copy.chambers[0].tags = { 'chamber.pressure': { node: node('P2'), unit: 'Pa' } })],
    ['the path', (copy) => (copy.chambers[0].path = 'Q1')],
    ['the address', (copy) => (copy.servers[0].endpoint = 'opc.tcp://127.0.0.1:5999')],
    ['the user', (copy) => (copy.servers[0].user = { name: 'reader', passwordFile: '/p' })],
    ['a chamber more', (copy) => copy.chambers.push({ ...copy.chambers[0], id: 'PC-09', path: 'P9', floor: { column: 9, row: 9 } })],
  ])('[LK1] [LK3] %s of one server renews its link alone', (_, edit) => {
    expect(linkChange(site, after(edit))).toEqual({ kept: ['birch'], renewed: ['amber'], begun: [], ended: [] });
  });

  test('[LK1] the gas line and the place of an alarm in a shared template renew the links of all that use it', () => {
    for (const edit of [
      (copy: Loose) => (copy.templates.small.gases['1'].fullScaleSccm = 600),
      (copy: Loose) => (copy.templates.small.alarms.RF_FAULT.from.node = node('Other')),
    ])
      expect(linkChange(site, after(edit)).renewed).toEqual(['amber', 'birch']);
  });

  test('[LK2] [LK3] a server has a link from its first chamber to its last', () => {
    expect(linkNeed(site, 'cedar')).toBeNull();
    expect(linkNeed(site, 'nobody')).toBeNull();
    const moved = after((copy) => (copy.chambers[1].server = 'cedar'));
    expect(linkChange(site, moved)).toEqual({ kept: ['amber'], renewed: [], begun: ['cedar'], ended: ['birch'] });
  });
});
