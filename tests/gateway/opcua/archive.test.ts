/** A gap that a server kept is read back: a real server with the library's own historian, a real link. */
import { afterEach, expect, test } from 'vitest';
import { systemClock } from '../../../gateway/clock.ts';
import { openLink } from '../../../gateway/opcua/link.ts';
import { newFolder, nodeText, startFixture, type Fixture } from './fixture-server.ts';
import { Heard, siteWith } from './heard.ts';

const undo: (() => Promise<unknown>)[] = [];
afterEach(async () => {
  for (const step of undo.splice(0).reverse()) await step();
});

/** What the fixture itself says at its start is of no interest. */
const AT_START = -1;
const TAGS = [
  { path: 'A1/Pressure', type: 'Double', value: AT_START },
  { path: 'A1/Door', type: 'Boolean', value: true },
] as const;
const template = {
  tags: {
    'chamber.pressure': { node: nodeText('{path}/Pressure'), unit: 'Pa' },
    'chamber.doorClosed': { node: nodeText('{path}/Door') },
  },
};

async function serve(history: boolean): Promise<Fixture> {
  const server = await startFixture({ tags: TAGS, history });
  undo.push(() => server.close());
  return server;
}

/** On a busy machine a value is older than usual when it is first read: that is no clock that is off. */
const PATIENT = { server: { skewToleranceS: 30 } };

/** A link of a gateway that heard the server last at `heardUntil`. */
async function linked(server: Fixture, heardUntil: number): Promise<Heard> {
  const heard = new Heard();
  const link = openLink({
    site: siteWith(server.port, template, PATIENT),
    clock: systemClock(),
    pkiFolder: newFolder(),
    events: heard.events,
  });
  undo.push(() => link.stop());
  await link.start({ 'plc-1': heardUntil });
  await heard.until('live', () => heard.status?.state === 'live' && heard.last('link.alive')?.value === true);
  return heard;
}

const keptOf = (heard: Heard, signal?: string) =>
  heard.readings.filter((one) => one.timeOrigin === 'archive' && (signal ?? one.signal) === one.signal && one.value !== AT_START);
const ago = (s: number): Date => new Date(Date.now() - s * 1000);

test('what a server kept since it was last heard is told first, in order of time, each value as if it had been received then', async () => {
  const server = await serve(true);
  const began = ago(1);
  const before = Date.now() - 900_000;
  for (let i = 0; i < 30; i++) {
    server.set('A1/Pressure', i, new Date(began.getTime() + 10 * i));
    if (i === 12) server.set('A1/Door', false, new Date(began.getTime() + 10 * i + 5));
  }
  const heard = await linked(server, began.getTime() - 1);
  const kept = keptOf(heard);
  expect(keptOf(heard, 'chamber.pressure').map(({ value }) => value)).toEqual(Array.from({ length: 30 }, (_, i) => i));
  expect(kept.map(({ at }) => at)).toEqual(kept.map(({ at }) => at).toSorted((a, b) => a - b));
  expect(kept.every(({ at, receivedAt }) => at === receivedAt && at > before)).toBe(true);
  expect(kept.find(({ signal }) => signal === 'chamber.doorClosed')).toMatchObject({ value: false, at: began.getTime() + 125 });
  const live = heard.readings.findIndex(({ signal, value }) => signal === 'link.alive' && value === true);
  expect(heard.readings.lastIndexOf(kept.at(-1)!)).toBeLessThan(live);
});

test('a long past is read in pages, none of it twice', { timeout: 60_000 }, async () => {
  const server = await serve(true);
  const began = Date.now() - 2_600;
  for (let i = 0; i < 2_500; i++) server.set('A1/Pressure', i, new Date(began + i));
  const heard = await linked(server, began - 1);
  expect(keptOf(heard, 'chamber.pressure').map(({ value }) => value)).toEqual(Array.from({ length: 2_500 }, (_, i) => i));
});

test('a server without history is heard all the same, and its gap stays a gap', async () => {
  const server = await serve(false);
  const heard = await linked(server, Date.now() - 60_000);
  expect(heard.readings.filter(({ timeOrigin }) => timeOrigin === 'archive')).toEqual([]);
  const [first] = heard.of('link.alive');
  expect(first).toMatchObject({ value: false });
  expect(heard.status?.message).toBe('');
});

test('the past of a device whose clock is off is not believed', async () => {
  const server = await serve(true);
  for (let i = 0; i < 5; i++) for (const { path, value } of TAGS) server.set(path, value, ago(87 - i));
  const heard = await linked(server, Date.now() - 200_000);
  expect(heard.readings.filter(({ timeOrigin }) => timeOrigin === 'archive')).toEqual([]);
});

test('a gateway that never heard the server asks for no past', async () => {
  const server = await serve(true);
  const heard = new Heard();
  const link = openLink({ site: siteWith(server.port, template), clock: systemClock(), pkiFolder: newFolder(), events: heard.events });
  undo.push(() => link.stop());
  await link.start();
  await heard.until('live', () => heard.status?.state === 'live');
  expect(server.requests.filter((name) => name.startsWith('History'))).toEqual([]);
});
