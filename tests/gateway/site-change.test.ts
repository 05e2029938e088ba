/**
 * Another site file while the gateway runs, with real links to real servers: what was not changed is not touched, as the servers' own records of what
 * they were asked and the books of the chambers show.
 */
import { mkdtempSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { checkDifference, differenceText } from '../../gateway/check-difference.ts';
import { parseSite } from '../../gateway/config.ts';
import { memoryStore } from '../../gateway/store/memory.ts';
import { openSqlite } from '../../gateway/store/sqlite.ts';
import type { Store } from '../../gateway/store/store.ts';
import type { Fleet, Health, StateInterval, Trace } from '../../src/contract.ts';
import type { SiteAnswer } from '../../src/site-answer.ts';
import { NAMESPACE, startFixture, type Fixture } from './opcua/fixture-server.ts';
import { startGateway, type Running } from './running.ts';

const undo: (() => unknown)[] = [];
let folder: string;
let file: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'glowfleet site '));
  file = join(folder, 'site.yaml');
  undo.push(() => rmSync(folder, { recursive: true, force: true, maxRetries: 5, retryDelay: 200 }));
});
afterEach(async () => {
  for (const step of undo.splice(0).reverse()) await step();
});

const tagsOf = (path: string) =>
  [
    { path: `${path}/Pressure`, type: 'Double', value: 101_325 },
    { path: `${path}/Door`, type: 'Boolean', value: true },
    { path: `${path}/Fault`, type: 'Boolean', value: false },
  ] as const;

async function plc(...paths: string[]): Promise<Fixture> {
  const server = await startFixture({ tags: paths.flatMap((path) => [...tagsOf(path)]) });
  undo.push(() => server.close());
  return server;
}

type Chamber = { id: string; server: string; more?: string };
type Written = { servers: Readonly<Record<string, number>>; chambers: readonly Chamber[]; text?: string; tail?: string; alarm?: boolean };

const written = ({ servers, chambers, text = 'RF fault', tail = '', alarm = true }: Written): string => `
site: { name: Quellmoor Works, hall: Hall 3, zone: Europe/Berlin }
servers:
${Object.entries(servers)
  .map(([name, port]) => `  - { name: ${name}, endpoint: 'opc.tcp://127.0.0.1:${port}', security: none }`)
  .join('\n')}
templates:
  small:
    rfMaxW: 1000
    basePressurePa: 5
    gases: {}
    tags:
      chamber.pressure: { node: 'nsu=${NAMESPACE};s={path}/Pressure', unit: Pa }
      chamber.doorClosed: { node: 'nsu=${NAMESPACE};s={path}/Door' }
    ${alarm ? `alarms: { RF_FAULT: { text: '${text}', priority: high, from: { node: 'nsu=${NAMESPACE};s={path}/Fault' } } }` : 'alarms: {}'}
chambers:
${chambers
  .map(
    ({ id, server, more = '' }, i) =>
      `  - { id: ${id}, bay: Amber, floor: { column: ${i + 1}, row: 1 }, server: ${server}, template: small, path: ${id}${more} }`,
  )
  .join('\n')}
${tail}`;

async function start(text: string, store?: Store): Promise<Running> {
  const running = await startGateway(folder, text, store);
  undo.push(running.stop);
  return running;
}

const tiles = async (running: Running) => new Map((await running.get<Fleet>('/api/fleet')).chambers.map((tile) => [tile.chamber, tile]));
const soon = (claim: () => Promise<unknown>, timeout = 20_000) => expect.poll(claim, { timeout, interval: 100 });
const live = (running: Running, id: string) => soon(async () => (await tiles(running)).get(id)?.link).toBe('live');
const sessions = (server: Fixture): number => server.requests.filter((name) => name === 'CreateSessionRequest').length;
/** States by the books, oldest first. */
const states = async (running: Running, chamber: string) =>
  (await running.store.events({ chambers: [chamber], kinds: ['equipment-state'] })).flatMap((event) =>
    event.kind === 'equipment-state' ? [event.state] : [],
  );

describe('another site file while the gateway runs', () => {
  test('a chamber comes, another goes: the unchanged one keeps its session and has no hole', { timeout: 90_000 }, async () => {
    const [amber, birch, cedar] = [await plc('PC-01'), await plc('PC-02'), await plc('PC-03')];
    const ports = { amber: amber.port, birch: birch.port };
    const running = await start(
      written({
        servers: ports,
        chambers: [
          { id: 'PC-01', server: 'amber' },
          { id: 'PC-02', server: 'birch' },
        ],
      }),
    );
    await live(running, 'PC-01');
    await live(running, 'PC-02');
    await soon(async () => (await states(running, 'PC-01')).at(-1)).toMatch(/^(?!unobserved)/);
    const known = (await running.store.extent())?.seq ?? 0;
    const before = await running.get<Fleet>('/api/fleet');
    const asked = sessions(amber);
    const beating = setInterval(() => amber.set('PC-01/Pressure', 101_000 + (Date.now() % 500)), 200);
    undo.push(() => clearInterval(beating));

    writeFileSync(
      file,
      written({
        servers: { amber: amber.port, cedar: cedar.port },
        chambers: [
          { id: 'PC-01', server: 'amber' },
          { id: 'PC-03', server: 'cedar' },
        ],
      }),
    );
    await live(running, 'PC-03');
    const after = await running.get<Fleet>('/api/fleet');
    expect(after.chambers.map(({ chamber }) => chamber)).toEqual(['PC-01', 'PC-03']);
    expect(after.boot).toBe(before.boot);
    expect(after.rev).toBeGreaterThan(before.rev);
    expect(sessions(amber)).toBe(asked);
    expect(amber.requests).not.toContain('CloseSessionRequest');
    expect(birch.requests).toContain('CloseSessionRequest');
    // Two more ticks of silence than any hole that could have been.
    expect((await running.store.events({ chambers: ['PC-01'], afterSeq: known })).map(({ kind }) => kind)).toEqual([]);
    const servers = await running.get<{ server: string; counters: { rebuilds: number } }[]>('/api/servers');
    expect(servers.map(({ server, counters }) => [server, counters.rebuilds])).toEqual([
      ['amber', 0],
      ['cedar', 0],
    ]);
    const { takings, former } = await running.get<SiteAnswer>('/api/site');
    expect(takings[0]?.changes.map(({ text }) => text)).toEqual([
      'Server birch was taken out.',
      expect.stringMatching(/^Server cedar was added: endpoint opc\.tcp:/),
      'Chamber PC-02 was taken out.',
      expect.stringMatching(/^Chamber PC-03 was added: .*server cedar/),
    ]);
    expect(former.map(({ chamber }) => chamber)).toEqual(['PC-02']);
    expect((await running.store.audit(10)).map(({ who, deed }) => [who, deed])).toEqual(Array(4).fill(['the file', 'site file']));
    expect(running.log.join('\n')).toContain('Site file: Chamber PC-02 was taken out.');
    expect((await fetch(`${running.url}/api/site/changes.csv`).then((answer) => answer.text())).split('\r\n')).toHaveLength(6);
  });

  test('a changed tag renews the link of its server alone, and leaves no unobserved time behind', { timeout: 90_000 }, async () => {
    const [amber, birch] = [await plc('PC-01', 'PC-02'), await plc('PC-03')];
    const servers = { amber: amber.port, birch: birch.port };
    const chambers = [
      { id: 'PC-01', server: 'amber' },
      { id: 'PC-02', server: 'amber' },
      { id: 'PC-03', server: 'birch' },
    ];
    const running = await start(written({ servers, chambers }));
    for (const { id } of chambers) await live(running, id);
    for (const { id } of chambers) await soon(async () => (await states(running, id)).at(-1)).toMatch(/^(?!unobserved)/);
    const changedAt = Date.now();
    const asked = [sessions(amber), sessions(birch)];
    const tags = `, tags: { chamber.pressure: { node: 'nsu=${NAMESPACE};s=PC-02/Pressure', unit: Pa, scale: 0.001 } }`;
    writeFileSync(file, written({ servers, chambers: chambers.map((one) => (one.id === 'PC-02' ? { ...one, more: tags } : one)) }));
    const { body } = await running.reload();
    expect(body).toEqual({
      changes: [expect.objectContaining({ text: 'Chamber PC-02, tags was added: .'.replace(': .', '.') })],
      links: { kept: ['birch'], renewed: ['amber'], begun: [], ended: [] },
    });
    await soon(async () => sessions(amber)).toBe(asked[0]! + 1);
    await soon(async () => {
      const now = Date.now();
      const asked = `/api/chambers/PC-02/trace?signals=chamber.pressure&from=${now - 60_000}&to=${now}`;
      return (await running.get<Trace>(asked)).signals[0]?.value.at(-1);
    }).toBeCloseTo(101.325, 3);
    await soon(async () => (await tiles(running)).get('PC-01')?.link).toBe('live');
    expect(sessions(birch)).toBe(asked[1]);
    // The hole is bridged: what is written down of it takes no time.
    const later = await running.get<StateInterval[]>(`/api/equipment-time?from=${changedAt - 1}&to=${Date.now() - 1_000}`);
    expect(later.filter(({ state, from, to }) => state === 'unobserved' && to - from > 5)).toEqual([]);
  });

  test(
    'a bad file changes nothing, is shown with line and cure everywhere, and the next good one is taken over',
    { timeout: 60_000 },
    async () => {
      const amber = await plc('PC-01');
      const good = written({ servers: { amber: amber.port }, chambers: [{ id: 'PC-01', server: 'amber' }] });
      const running = await start(good);
      await live(running, 'PC-01');
      const asked = sessions(amber);
      writeFileSync(file, good.replace('rfMaxW: 1000', 'rfMaxW: -5').replace('bay: Amber', 'bey: Amber'));
      await soon(async () => (await running.get<SiteAnswer>('/api/site')).faults?.lines).toEqual([
        `${file}:7 templates.small.rfMaxW: saw -5; it must be more than 0`,
        `${file}:15 chambers.0.bay: missing; it must be a text`,
        `${file}:15 chambers.0.bey: unknown key; correct its spelling or take it out`,
      ]);
      const { ready, problems } = await running.get<Health>('/health/ready');
      expect(ready).toBe(true);
      expect(problems).toContain(`${file}:7 templates.small.rfMaxW: saw -5; it must be more than 0`);
      expect(running.log.join('\n')).toContain('nothing was changed');
      expect(await running.reload()).toMatchObject({
        status: 400,
        body: { message: expect.stringContaining(':7 templates.small.rfMaxW') },
      });
      await live(running, 'PC-01');
      expect([sessions(amber), (await running.get<SiteAnswer>('/api/site')).takings]).toEqual([asked, []]);
      // As an editor does that writes beside and puts the new file in the old one's place.
      writeFileSync(`${file}~`, good.replace('bay: Amber', 'bay: Willow'));
      renameSync(`${file}~`, file);
      await soon(async () => (await tiles(running)).get('PC-01')?.bay).toBe('Willow');
      expect((await running.get<SiteAnswer>('/api/site')).faults).toBeNull();
      expect((await running.get<Health>('/health/ready')).problems.join()).not.toContain('site file');
      expect(sessions(amber)).toBe(asked);
    },
  );

  test('a file half written, gone for a moment or written often tells nothing until it stands still', { timeout: 60_000 }, async () => {
    const amber = await plc('PC-01', 'PC-02');
    const chambers = [
      { id: 'PC-01', server: 'amber' },
      { id: 'PC-02', server: 'amber' },
    ];
    const whole = written({ servers: { amber: amber.port }, chambers });
    const running = await start(whole);
    const half = whole.slice(0, whole.indexOf('  - { id: PC-02'));
    for (let i = 0; i < 12; i++) {
      writeFileSync(file, i % 3 === 0 ? half : i % 3 === 1 ? '' : `${half}# ${i}\n`);
      if (i === 6) rmSync(file);
      await new Promise((done) => setTimeout(done, 300));
    }
    writeFileSync(file, whole.replaceAll('bay: Amber', 'bay: Oak'));
    await soon(async () => (await tiles(running)).get('PC-02')?.bay).toBe('Oak');
    const { takings, faults } = await running.get<SiteAnswer>('/api/site');
    expect(faults).toBeNull();
    expect(takings.map(({ changes }) => changes.map(({ text }) => text))).toEqual([
      ['Chamber PC-01, bay was Amber and is now Oak.', 'Chamber PC-02, bay was Amber and is now Oak.'],
    ]);
  });

  test('a chamber taken out keeps its history, and goes on with a hole when it comes back', { timeout: 90_000 }, async () => {
    const amber = await plc('PC-01', 'PC-02');
    const one = { id: 'PC-01', server: 'amber' };
    const two = { id: 'PC-02', server: 'amber' };
    const site = (...chambers: Chamber[]) => written({ servers: { amber: amber.port }, chambers });
    const running = await start(site(one, two));
    await live(running, 'PC-02');
    await soon(async () => (await states(running, 'PC-02')).at(-1)).toMatch(/^(?!unobserved)/);
    const before = await states(running, 'PC-02');
    writeFileSync(file, site(one));
    await running.reload();
    expect([...(await tiles(running)).keys()]).toEqual(['PC-01']);
    const numbers = await running.get<{ chamber: string | null }[]>('/api/numbers?window=today');
    expect(numbers.map(({ chamber }) => chamber)).toEqual([null, 'PC-01', 'PC-02']);
    expect((await running.get<object[]>('/api/runs?chamber=PC-02')).length).toBe(0);
    expect(await states(running, 'PC-02')).toEqual([...before, 'unobserved']);
    writeFileSync(file, site(one, two));
    await running.reload();
    await live(running, 'PC-02');
    expect((await running.get<SiteAnswer>('/api/site')).former).toEqual([]);
    expect((await running.get<{ chamber: string | null }[]>('/api/numbers?window=today')).map(({ chamber }) => chamber)).toEqual([
      null,
      'PC-01',
      'PC-02',
    ]);
  });

  test('an alarm that stands and is mapped no more stands no longer, and its tag is not asked for', { timeout: 60_000 }, async () => {
    const amber = await plc('PC-01');
    const site = { servers: { amber: amber.port }, chambers: [{ id: 'PC-01', server: 'amber' }] };
    const running = await start(written(site));
    await live(running, 'PC-01');
    await soon(async () => (await states(running, 'PC-01')).at(-1)).toMatch(/^(?!unobserved)/);
    amber.set('PC-01/Fault', true);
    await soon(async () => (await tiles(running)).get('PC-01')?.alarms.standing).toBe(1);
    writeFileSync(file, written({ ...site, alarm: false }));
    await running.reload();
    await soon(async () => (await tiles(running)).get('PC-01')?.alarms.standing).toBe(0);
    const alarms = await running.store.events({ chambers: ['PC-01'], kinds: ['alarm'] });
    expect(alarms.map((event) => event.kind === 'alarm' && event.change)).toEqual(['activated', 'cleared']);
  });

  test('what changed while no gateway ran is told at the next start', { timeout: 60_000 }, async () => {
    const amber = await plc('PC-01');
    const store = memoryStore();
    const kept = { ...store, close: async () => undefined };
    const site = { servers: { amber: amber.port }, chambers: [{ id: 'PC-01', server: 'amber' }] };
    await (await start(written(site), kept)).stop();
    const running = await start(written({ ...site, tail: 'engineeringRecipes: [CND-*]' }), kept);
    const { takings } = await running.get<SiteAnswer>('/api/site');
    expect(takings.map(({ by, changes }) => [by, changes.map(({ text }) => text)])).toEqual([
      ['the start', ['EngineeringRecipes: no longer TRL-*, LKT-*.']],
    ]);
    expect(running.log.join('\n')).toContain('since the last start: EngineeringRecipes');
  });

  test('what a file would change of what is in force is said beforehand, also while the gateway runs', { timeout: 60_000 }, async () => {
    const amber = await plc('PC-01');
    const site = { servers: { amber: amber.port }, chambers: [{ id: 'PC-01', server: 'amber' }] };
    const data = join(folder, 'data');
    const store = await openSqlite(data);
    undo.push(() => store.close());
    const running = await start(written(site), store);
    await live(running, 'PC-01');
    const other = (more: Partial<Written>) => checkDifference(parseSite(file, written({ ...site, ...more })), data);
    expect(differenceText(await other({}))).toBe('It says what is in force already: nothing would change.');
    expect(differenceText(await other({ text: 'Generator fault' }))).toBe(
      'Template small, alarm RF_FAULT, text was RF fault and is now Generator fault.\nNot touched: amber.',
    );
    expect(differenceText(await other({ servers: { amber: 1 } }))).toMatch(
      /endpoint was .* and is now .*\nThe links that would start anew: amber\.$/,
    );
    await expect(checkDifference(parseSite(file, written(site)), folder)).rejects.toThrow(/Name the data folder of a gateway/);
  });

  test('no address of a route leaves its secret in the books, the answers or the log', { timeout: 60_000 }, async () => {
    const amber = await plc('PC-01');
    const site = { servers: { amber: amber.port }, chambers: [{ id: 'PC-01', server: 'amber' }] };
    const routes = (secret: string) =>
      `alerts: { routes: [{ name: duty, type: webhook, url: 'http://127.0.0.1:9/${secret}?k=${secret}', allowPrivate: true }] }`;
    const running = await start(written({ ...site, tail: routes('SECRET-1') }));
    writeFileSync(file, written({ ...site, tail: routes('SECRET-2') }));
    const { body } = await running.reload();
    expect(
      body.changes?.map(({ text }) => text),
      body.message,
    ).toEqual(['Route duty, url: http://127.0.0.1:9/…, in a part that is not shown here.']);
    const said = [
      JSON.stringify([...(await running.store.snapshots()).values()]),
      JSON.stringify(await running.store.audit(50)),
      JSON.stringify(await running.get('/api/site')),
      running.log.join('\n'),
    ].join('\n');
    expect(said).not.toMatch(/SECRET-[12]/);
  });
});
