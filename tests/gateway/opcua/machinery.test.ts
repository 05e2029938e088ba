/** A server with the companion nodesets of OPC 40001-1 (the library's copies), understood without a tag map. */
import { DataType, LocalizedText, nodesets } from 'node-opcua';
import type { Namespace, OPCUAServer, UAObject, UAVariable } from 'node-opcua';
import { afterEach, expect, test } from 'vitest';
import { parse } from 'yaml';
import { lookAt } from '../../../gateway/opcua/discover.ts';
import { checkServer } from '../../../gateway/opcua/live-check.ts';
import { openLink } from '../../../gateway/opcua/link.ts';
import { siteDraft } from '../../../gateway/site-draft.ts';
import { siteFile } from '../../../src/config.ts';
import { discover } from '../../../src/discovery.ts';
import { NAMESPACE, newFolder, startFixture } from './fixture-server.ts';
import { Heard } from './heard.ts';

const undo: (() => Promise<unknown>)[] = [];
afterEach(async () => {
  for (const step of undo.splice(0).reverse()) await step();
});

const MACHINERY = 'http://opcfoundation.org/UA/Machinery/';
/** OPC 40001-1: the Machines folder. */
const MACHINES = 1001;
const STATES = {
  MachineryItemState: 'MachineryItemState_StateMachineType',
  MachineryOperationMode: 'MachineryOperationModeStateMachineType',
};

type Say = (machine: string, which: keyof typeof STATES, state: string) => void;

/** Machines as OPC 40001-1 wants them: in the Machines folder, with their building blocks. */
function machines(names: readonly string[], at: { say?: Say }): (server: OPCUAServer) => void {
  return (server) => {
    const space = server.engine.addressSpace!;
    const own = space.getNamespace(NAMESPACE) as Namespace;
    const machinery = space.getNamespaceIndex(MACHINERY);
    const folder = space.findNode(`ns=${machinery};i=${MACHINES}`) as UAObject;
    const current = new Map<string, UAVariable>();
    for (const name of names) {
      const machine = own.addObject({ browseName: name, nodeId: `s=${name}`, organizedBy: folder });
      const blocks = own.addObject({
        browseName: { name: 'MachineryBuildingBlocks', namespaceIndex: machinery },
        nodeId: `s=${name}.Blocks`,
        componentOf: machine,
      });
      for (const [block, type] of Object.entries(STATES)) {
        const definition = space.findObjectType(type, machinery)!;
        const state = definition.instantiate({
          browseName: { name: block, namespaceIndex: machinery },
          nodeId: `ns=${own.index};s=${name}.${block}`,
          componentOf: blocks,
          namespace: own,
        });
        const variable = state.getComponentByName('CurrentState') as UAVariable;
        current.set(`${name} ${block}`, variable);
      }
    }
    at.say = (machine, which, text) =>
      current
        .get(`${machine} ${which}`)!
        .setValueFromSource({ dataType: DataType.LocalizedText, value: new LocalizedText({ text, locale: 'en' }) });
    for (const name of names) {
      at.say(name, 'MachineryItemState', 'NotExecuting');
      at.say(name, 'MachineryOperationMode', 'Processing');
    }
  };
}

test('machines that tell nothing but item state and operation mode are found, drafted, checked and read', async () => {
  const at: { say?: Say } = {};
  const nodeset_filename = [nodesets.standard, nodesets.di, nodesets.ia, nodesets.machinery];
  const server = await startFixture({ tags: [], server: { nodeset_filename }, prepare: machines(['Etcher 1', 'Etcher 2'], at) });
  undo.push(() => server.close());
  const endpoint = `opc.tcp://127.0.0.1:${server.port}`;
  const seen = await lookAt({ name: 'plc-1', endpoint, security: 'none', policy: 'Basic256Sha256', skewToleranceS: 5 }, newFolder());
  const chambers = discover(seen.variables, seen.conditions);
  expect(chambers.map(({ name, candidates }) => [name, candidates.map(({ signal }) => signal)])).toEqual([
    ['Etcher 1', ['sequence.mode', 'machine.itemState']],
    ['Etcher 2', ['sequence.mode', 'machine.itemState']],
  ]);
  const site = siteFile.parse(parse(siteDraft({ endpoint, security: 'none', policy: 'Basic256Sha256', chambers })));
  expect(Object.keys(site.templates)).toHaveLength(1);
  const lines = await checkServer(site, site.servers[0]!, { pkiFolder: newFolder(), now: Date.now });
  expect(lines.filter(({ chamber }) => chamber !== '').map(({ verdict, signal, text }) => [verdict, signal, text])).toEqual(
    [1, 2].flatMap(() => [
      ['ok', 'sequence.mode', 'Processing, taken as auto'],
      ['ok', 'machine.itemState', 'NotExecuting, taken as not-executing'],
    ]),
  );
  const heard = new Heard();
  const clock = { now: () => Date.now(), steadyMs: () => performance.now(), speed: 1 };
  const link = openLink({ site, clock, pkiFolder: newFolder(), events: heard.events });
  undo.push(() => link.stop());
  await link.start();
  await heard.until('first word', () => heard.last('machine.itemState', 'Etcher-2')?.value === 'not-executing');
  at.say!('Etcher 2', 'MachineryItemState', 'Executing');
  at.say!('Etcher 2', 'MachineryOperationMode', 'Maintenance');
  await heard.until('executing', () => heard.last('machine.itemState', 'Etcher-2')?.value === 'executing');
  await heard.until('maintenance', () => heard.last('sequence.mode', 'Etcher-2')?.value === 'maintenance');
  expect([heard.last('machine.itemState', 'Etcher-1')?.value, heard.last('sequence.mode', 'Etcher-1')?.value]).toEqual([
    'not-executing',
    'auto',
  ]);
});
