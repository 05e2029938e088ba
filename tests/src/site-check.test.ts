import { describe, expect, test } from 'vitest';
import { siteFile, type SiteFile } from '../../src/config.ts';
import { siteFaults } from '../../src/site-check.ts';

type Loose = Record<string, unknown>;
const chamber = (id: string, column: number, rest: Loose = {}): Loose => ({
  id,
  bay: 'Amber',
  floor: { column, row: 1 },
  server: 'amber',
  template: 'small',
  path: id,
  ...rest,
});
const template = (rest: Loose = {}): Loose => ({ rfMaxW: 1000, basePressurePa: 5, gases: {}, tags: {}, ...rest });
const node = (name: string): string => `nsu=urn:plant;s={path}/${name}`;

const site = (rest: Loose = {}): SiteFile =>
  siteFile.parse({
    site: { name: 'Quellmoor Works', hall: 'Hall 3', zone: 'Europe/Berlin' },
    servers: [{ name: 'amber', endpoint: 'opc.tcp://127.0.0.1:4840' }],
    templates: { small: template() },
    chambers: [chamber('PC-01', 1), chamber('PC-02', 2)],
    ...rest,
  });
const paths = (rest: Loose): string[] => siteFaults(site(rest)).map((fault) => fault.path.join('.'));

describe('what one part of a site file says about another', () => {
  test('[SC1] a server or template that is not there is named with those that are', () => {
    const faults = siteFaults(site({ chambers: [chamber('PC-01', 1, { server: 'ambre', template: 'smal' })] }));
    expect(faults.map((f) => f.text)).toEqual(['saw "ambre"; the file has amber', 'saw "smal"; the file has small']);
  });

  test('[SC2] names and floor spots are unique', () => {
    expect(paths({ chambers: [chamber('PC-01', 1), chamber('PC-01', 1, { path: 'other' })] })).toEqual([
      'chambers.1.id',
      'chambers.1.floor',
    ]);
    const server = { name: 'amber', endpoint: 'opc.tcp://127.0.0.1:4840' };
    expect(paths({ servers: [server, server] })).toEqual(['servers.1.name']);
    const route = { name: 'hook', type: 'webhook', url: 'https://plant.invalid' };
    expect(paths({ alerts: { routes: [route, route] } })).toEqual(['alerts.routes.1.name']);
  });

  test('[SC3] a position watches chambers that exist, and a chamber has one position', () => {
    const positions = [
      { name: 'A', chambers: ['PC-01', 'PC-77'] },
      { name: 'B', chambers: ['PC-02', 'PC-01'] },
    ];
    expect(paths({ alerts: { positions } })).toEqual(['alerts.positions.0.chambers.1', 'alerts.positions.1.chambers.1']);
  });

  test('[SC4] an alarm has a source, and its own', () => {
    const alarm = (from: Loose): Loose => ({ text: 'x', priority: 'low', from });
    const alarms = {
      A1: alarm({ condition: 'C' }),
      A2: alarm({ node: node('W'), bit: 1 }),
      A3: alarm({ node: node('W'), bit: 1 }),
      A4: alarm({ node: node('W'), bit: 2 }),
    };
    expect(paths({ templates: { small: template({ alarms }) } })).toEqual([
      'templates.small.alarms.A1.from',
      'templates.small.alarms.A3.from',
    ]);
  });

  test("[SC5] a tag's unit measures what its signal is, in templates and in chambers", () => {
    const tags = {
      'chamber.pressure': { node: node('P'), unit: 'sccm' },
      'gas.1.flow': { node: node('F1'), unit: 'percent-of-full-scale' },
      'gas.2.flow': { node: node('F2'), unit: 'sccm' },
    };
    expect(paths({ templates: { small: template({ tags }) } })).toEqual([
      'templates.small.tags.chamber.pressure.unit',
      'templates.small.tags.gas.1.flow.unit',
    ]);
    const own = chamber('PC-01', 1, { tags: { 'pump.running': { node: node('R'), unit: 'W' }, 'rf.forward': null } });
    expect(siteFaults(site({ chambers: [own] }))).toEqual([
      { path: ['chambers', 0, 'tags', 'pump.running', 'unit'], text: 'saw "W"; allowed for this signal: no unit' },
    ]);
  });

  test('[SC6] two chambers never read the same path of the same server', () => {
    expect(paths({ chambers: [chamber('PC-01', 1), chamber('PC-02', 2, { path: 'PC-01' })] })).toEqual(['chambers.1.path']);
  });

  test('[SC7] a reason stands once for its state, and only downtime has a kind', () => {
    const reason = (state: string, words: string, downtime: string | null = null): Loose => ({ state, reason: words, downtime });
    const reasons = [reason('standby', 'idle', 'assist'), reason('standby', 'x'), reason('engineering', 'x'), reason('standby', 'x')];
    expect(paths({ reasons })).toEqual(['reasons.0.downtime', 'reasons.3.reason']);
    expect(paths({ reasons: [reason('unscheduled-downtime', 'x', 'repair'), reason('scheduled-downtime', 'y', 'test')] })).toEqual([]);
  });

  test('[SC8] changes come in order, no day is a holiday twice, and no shift of a name starts twice a day', () => {
    const early = { name: 'Early', days: ['mon'], from: '06:00', to: '14:00' };
    const calendar = {
      shifts: [early, { ...early, days: ['tue'] }, { ...early, days: ['sun', 'mon'] }, { ...early, name: 'Late', days: ['wed', 'wed'] }],
      changes: [
        { from: '2026-10-02', shifts: [early] },
        { from: '2026-10-01', shifts: [early, early] },
      ],
      holidays: [
        { date: '2026-12-24', name: 'x' },
        { date: '2026-12-24', name: 'y' },
      ],
    };
    expect(paths({ calendar })).toEqual([
      'calendar.changes.1.from',
      'calendar.holidays.1.date',
      'calendar.shifts.2.days',
      'calendar.shifts.3.days',
      'calendar.changes.1.shifts.1.days',
    ]);
  });

  test('[SC9] the summary of a week goes by mail routes that exist, by each once', () => {
    const mail = { name: 'managers', type: 'mail', smtp: 'smtp://127.0.0.1', from: 'a@plant.invalid', to: ['b@plant.invalid'] };
    const hook = { name: 'hook', type: 'webhook', url: 'https://plant.invalid' };
    const reports = (routes: string[]) => ({ alerts: { routes: [mail, hook] }, reports: { weekly: { routes } } });
    expect(siteFaults(site(reports(['managers'])))).toEqual([]);
    expect(paths(reports(['managers', 'managers']))).toEqual(['reports.weekly.routes.1']);
    expect(siteFaults(site(reports(['hook'])))).toEqual([
      { path: ['reports', 'weekly', 'routes', 0], text: 'saw "hook"; the mail routes are managers' },
    ]);
    expect(siteFaults(site({ reports: { weekly: { routes: ['x'] } } }))[0]?.text).toBe('saw "x"; the file has no mail route');
  });

  test('[SC10] a maintenance interval is of chambers that exist, and none has two of one name', () => {
    const oil = { name: 'Pump oil', part: 'pump', counts: 'pump-hours', every: 1500 };
    expect(siteFaults(site({ maintenance: [oil, { ...oil, name: 'Seal' }] }))).toEqual([]);
    expect(paths({ maintenance: [{ ...oil, chambers: ['PC-99'] }] })).toEqual(['maintenance.0.chambers.0']);
    expect(paths({ maintenance: [oil, { ...oil, every: 500 }] })).toEqual(['maintenance.1.name']);
  });

  test('[SC11] a utility is of chambers that exist, each named once, and has its own name', () => {
    const water = { name: 'Loop South', kind: 'cooling-water', chambers: ['PC-01'] };
    expect(siteFaults(site({ utilities: [water, { ...water, name: 'Loop North' }] }))).toEqual([]);
    expect(paths({ utilities: [{ ...water, chambers: ['PC-99'] }] })).toEqual(['utilities.0.chambers.0']);
    expect(paths({ utilities: [{ ...water, chambers: ['PC-01', 'PC-01'] }] })).toEqual(['utilities.0.chambers.1']);
    expect(paths({ utilities: [water, water] })).toEqual(['utilities.1.name']);
  });

  test('[SC13] a bit is for a yes-or-no signal without words', () => {
    const tags = {
      'chamber.doorClosed': { node: node('W'), bit: 3, inverted: true },
      'pump.running': { node: node('W'), bit: 4, words: { '1': 'true' } },
      'recipe.step': { node: node('W'), bit: 5 },
    };
    expect(siteFaults(site({ templates: { small: template({ tags }) } }))).toEqual([
      {
        path: ['templates', 'small', 'tags', 'pump.running', 'bit'],
        text: 'saw 4 beside words; a bit has none, take the words out and turn it around with inverted',
      },
      {
        path: ['templates', 'small', 'tags', 'recipe.step', 'bit'],
        text: 'saw 5; a bit is a yes or a no, and this signal is none, take it out',
      },
    ]);
    expect(() => site({ templates: { small: template({ tags: { 'pump.running': { node: node('W'), bit: 64 } } }) } })).toThrow();
  });

  test('[SC14] only the step number is told what it counts', () => {
    const tags = { 'recipe.step': { node: node('S'), counts: 'all-steps' }, 'meter.cycles': { node: node('C'), counts: 'plasma-steps' } };
    expect(siteFaults(site({ templates: { small: template({ tags }) } }))).toEqual([
      {
        path: ['templates', 'small', 'tags', 'meter.cycles', 'counts'],
        text: 'saw "plasma-steps"; only recipe.step counts steps, take it out',
      },
    ]);
  });

  test('[SC12] a chamber never bears a name under which the gateway keeps something of its own', () => {
    for (const id of ['alert-watch', 'demo', 'heartbeat']) expect(paths({ chambers: [chamber(id, 1)] })).toEqual(['chambers.0.id']);
    expect(paths({ chambers: [chamber('Demo', 1)] })).toEqual([]);
  });
});
