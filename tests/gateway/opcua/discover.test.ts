/** One look at an unknown server: a real one, with units, conditions and loops, that is not the demo plant. */
import { afterEach, expect, test } from 'vitest';
import { lookAt } from '../../../gateway/opcua/discover.ts';
import { unitInText, unitOf } from '../../../gateway/opcua/unit-of.ts';
import { newFolder, nodeText, startFixture, type FixtureOptions } from './fixture-server.ts';

const undo: (() => Promise<unknown>)[] = [];
afterEach(async () => {
  for (const step of undo.splice(0).reverse()) await step();
});

async function look(options: FixtureOptions, security: 'none' | 'sign-and-encrypt' = 'none') {
  const server = await startFixture(options);
  undo.push(() => server.close());
  const endpoint = `opc.tcp://127.0.0.1:${server.port}`;
  const seen = lookAt({ name: endpoint, endpoint, security, policy: 'Basic256Sha256', skewToleranceS: 5 }, newFolder());
  return { seen, server };
}

const TAGS = [
  { path: 'Pressure', type: 'Double', value: 12.5 },
  { path: 'DoorClosed', type: 'Boolean', value: true },
  { path: 'Cycles', type: 'UInt64', value: [0, 77] },
  { path: 'Recipe', type: 'String', value: 'CLN-OA-10' },
] as const;

test('lists variables by path, namespace URI, type and value, conditions apart, and only ever browses and reads', async () => {
  const { seen, server } = await look({ tags: TAGS, conditions: ['Overpressure'], namespacesBefore: 2 });
  const { variables, conditions, offers, isCut } = await seen;
  const own = variables.filter(({ path }) => path[0] === 'Chamber' && path.length === 2);
  expect(
    own.filter(({ path }) => !path[1]?.startsWith('Overpressure')).map(({ path, node, type, value }) => [path[1], node, type, value]),
  ).toEqual([
    ['Pressure', nodeText('Pressure'), 'number', '12.5'],
    ['DoorClosed', nodeText('DoorClosed'), 'boolean', 'true'],
    ['Cycles', nodeText('Cycles'), 'integer', '77'],
    ['Recipe', nodeText('Recipe'), 'text', 'CLN-OA-10'],
  ]);
  expect(conditions).toEqual([{ path: ['Chamber', 'Overpressure'], name: 'Overpressure', notifier: nodeText('Chamber') }]);
  expect(offers).toEqual([{ security: 'none', policy: 'None' }]);
  expect(isCut).toBe(false);
  const allowed =
    /^(OpenSecureChannel|CloseSecureChannel|GetEndpoints|CreateSession|ActivateSession|CloseSession|Read|Browse|BrowseNext)Request$/;
  expect(server.requests.filter((name) => !allowed.test(name))).toEqual([]);
});

test('a server that reads 100 nodes a call is read all the same', async () => {
  const tags = Array.from({ length: 250 }, (_, i) => ({ path: `T${i}`, type: 'Double', value: i }) as const);
  const { seen } = await look({ tags, itemLimit: 100 });
  expect((await seen).variables.filter(({ path }) => path[0] === 'Chamber').length).toBe(250);
});

test('an unknown certificate is refused in one sentence with the cure', async () => {
  const { seen } = await look({ tags: TAGS, secure: true }, 'sign-and-encrypt');
  await expect(seen).rejects.toThrow(/is not trusted yet.*thumbprint [0-9A-F]{40} .*glowfleet trust --data /);
});

test('a security that is not offered is refused with those that are', async () => {
  const { seen } = await look({ tags: TAGS, secure: true }, 'none');
  await expect(seen).rejects.toThrow(/offers no such security\. It offers: --security sign-and-encrypt --policy Basic256Sha256\.$/);
});

test('a tag that may not be read now keeps its type and says why', async () => {
  const { seen, server } = await look({ tags: TAGS });
  const { StatusCodes } = await import('node-opcua');
  server.set('Pressure', 12.5, new Date(), StatusCodes.BadNotReadable);
  const { variables } = await seen;
  const pressure = variables.find(({ path }) => path.join('/') === 'Chamber/Pressure');
  expect([pressure?.type, pressure?.unread]).toEqual(['number', 'BadNotReadable']);
});

test('a unit stands in brackets in a description, or does not', () => {
  expect(unitInText('Chamber pressure [mbar]')).toEqual({ known: 'mbar', text: 'mbar' });
  expect(unitInText('Druck (links) (kPa)')).toEqual({ known: 'kPa', text: 'kPa' });
  expect(unitInText('Pressure in mbar, see [3]')).toBeNull();
});

test('a port where nothing answers is said in a sentence', async () => {
  const endpoint = 'opc.tcp://127.0.0.1:9';
  await expect(
    lookAt({ name: endpoint, endpoint, security: 'none', policy: 'Basic256Sha256', skewToleranceS: 5 }, newFolder()),
  ).rejects.toThrow(/opc\.tcp:\/\/127\.0\.0\.1:9/);
});

// Numbers: OPC Foundation's UNECE_to_OPCUA.csv (seen); mTorr, sccm, slm and percent have no row in it.
test('units are known by text first and by their UNECE number, the others are told as they stand', () => {
  const unit = (unitId: number, text: string | null = null) => unitOf({ unitId, displayName: { text } });
  expect([5259596, 5063250, 21825, 5723220, 4408652, 5457219].map((id) => unit(id).known)).toEqual([
    'Pa',
    'mbar',
    'Torr',
    'W',
    'degC',
    's',
  ]);
  expect(unit(-1, 'mTorr').known).toBe('mTorr');
  expect(unit(-1, 'SCCM').known).toBe('sccm');
  expect(unit(14132, 'mTorr').known).toBe('mTorr');
  expect(unit(-1, 'furlong')).toEqual({ known: null, text: 'furlong' });
  expect(unitOf(null)).toEqual({ known: null, text: null });
});
