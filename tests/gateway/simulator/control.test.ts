import { request } from 'node:http';
import { createServer, type AddressInfo } from 'node:net';
import { afterEach, beforeEach, expect, test } from 'vitest';
import { ControlPort, sendOrder } from '../../../gateway/simulator/control.ts';
import { durationMs, faultList, judgedOrder } from '../../../gateway/simulator/orders.ts';
import { FAULT_NAMES } from '../../../gateway/simulator/plant-port.ts';
import { fakeChamber, type FakePlant, fakePlant } from './fake-plant.ts';

let plant: FakePlant;
let control: ControlPort;
let port: number;

beforeEach(async () => {
  plant = fakePlant([fakeChamber('PC-01', 'amber'), fakeChamber('PC-12', 'cedar-12')], 0);
  control = new ControlPort(plant);
  port = await control.start(0);
  control.open();
});
afterEach(() => control.stop());

const LEAK = { fault: 'leak', chamber: 'PC-01', size: 140, durationMs: 1_200_000 };

test('an order that makes sense reaches the plant', async () => {
  expect(await sendOrder(`127.0.0.1:${port}`, LEAK)).toBeNull();
  expect(plant.orders).toEqual([LEAK]);
});

test.each([
  [{ fault: 'lek', chamber: 'PC-01' }, 'There is no fault "lek". Known faults: leak,'],
  [{ fault: 'leak' }, '"leak" strikes one chamber: name it with --chamber, such as --chamber PC-01.'],
  [{ fault: 'leak', chamber: 'PC-99' }, 'There is no chamber "PC-99". Chambers: PC-01 to PC-12.'],
  [{ fault: 'power-dip', chamber: 'PC-01' }, '"power-dip" strikes the whole hall: leave --chamber out.'],
  [{ fault: 'leak', chamber: 'PC-01', size: 'big' }, 'The size of "leak" is a number up to 10000: mTorr/min.'],
  [{ fault: 'leak', chamber: 'PC-01', durationMs: 'soon' }, 'The duration is a time such as 90s, 20m or 2h.'],
  [{ fault: 'rf-trip', chamber: 'PC-01', size: 3 }, '"rf-trip" has no size: leave --size out.'],
])('%j is refused with one sentence and leaves the plant alone', async (wish, sentence) => {
  expect(await sendOrder(`127.0.0.1:${port}`, wish)).toContain(sentence);
  expect(plant.orders).toEqual([]);
});

test('while the plant lives through its past, orders are put off', async () => {
  const early = new ControlPort(plant);
  const at = await early.start(0);
  expect(await sendOrder(`127.0.0.1:${at}`, LEAK)).toBe('The plant still lives through its past: try again in half a minute.');
  await early.stop();
  expect(plant.orders).toEqual([]);
});

test('what is no order at all is judged, not thrown', () => {
  for (const nonsense of [null, 7, 'leak', [], { fault: {} }]) expect(judgedOrder(nonsense, plant.chambers)).toHaveProperty('wrong');
});

test('nobody there, or somebody else there, is said in one sentence', async () => {
  await control.stop();
  expect(await sendOrder(`127.0.0.1:${port}`, LEAK)).toMatch(/^No simulator answers at 127\.0\.0\.1:\d+: start one/);
});

test('a page in a browser cannot order faults: origin, foreign host and form posts are refused', async () => {
  const post = (headers: Record<string, string>): Promise<number> =>
    new Promise((resolve, reject) => {
      const call = request({ port, host: '127.0.0.1', path: '/faults', method: 'POST', headers }, (response) => {
        response.resume();
        resolve(response.statusCode ?? 0);
      });
      call.on('error', reject);
      call.end(JSON.stringify(LEAK));
    });
  const json = { 'content-type': 'application/json' };
  expect(await post({ ...json, origin: 'http://127.0.0.1' })).toBe(403);
  expect(await post({ ...json, host: 'evil.example' })).toBe(403);
  expect(await post({ 'content-type': 'text/plain' })).toBe(403);
  expect(plant.orders).toEqual([]);
  expect(await post(json)).toBe(200);
});

test('the control port listens on loopback only', async () => {
  const foreign = Object.values((await import('node:os')).networkInterfaces())
    .flat()
    .find((one) => one?.internal === false && one.family === 'IPv4');
  if (foreign === undefined) return; // a machine without a network has nothing to listen on
  const free = createServer();
  // the same port on another interface can still be taken, so nobody listens there
  await new Promise<void>((resolve, reject) => free.once('error', reject).listen(port, foreign.address, resolve));
  expect((free.address() as AddressInfo).port).toBe(port);
  await new Promise((resolve) => free.close(resolve));
});

test('every fault has its line in the list, and times read as people write them', () => {
  expect(
    faultList()
      .split('\n')
      .map((line) => line.split(' ')[0]),
  ).toEqual([...FAULT_NAMES]);
  expect(['90s', '20m', '2h', '1.5d', '20', 'm', '-1m'].map(durationMs)).toEqual([
    90_000,
    1_200_000,
    7_200_000,
    129_600_000,
    null,
    null,
    null,
  ]);
});
