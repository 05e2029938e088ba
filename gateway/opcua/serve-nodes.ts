/**
 * The fleet as OPC UA nodes, read-only: under Machines (OPC 40001-1 5.2) one object per chamber with its identification, its item state and its
 * operation mode, and beside them what that standard has no place for: equipment time, run, phase, alarms, numbers of the day.
 * Unobserved is said with a status: what nobody knows is not served as Good.
 * Equipment states to item state and operation mode: the example interpretation of SEMI E10 in OPC 40001-1, annex C.
 */
import { DataType, LocalizedText, NodeId, StatusCodes, VariantArrayType } from 'node-opcua';
import type { AddressSpace, Namespace, StatusCode, UAObject, UAObjectType, UAVariable } from 'node-opcua';
import type { ChamberTile } from '../../src/contract.ts';
import type { EquipmentState } from '../../src/equipment.ts';
import type { SeenNumbers } from '../../src/numbers.ts';

export const FLEET_NAMESPACE = 'urn:glowfleet:fleet';
const MACHINERY = 'http://opcfoundation.org/UA/Machinery/';
const DI = 'http://opcfoundation.org/UA/DI/';
/** OPC 40001-1 5.2: the Machines folder. */
const MACHINES = 1001;

type Word = 'String' | 'DateTime' | 'Int32' | 'Double';
const NOT_KNOWN = StatusCodes.BadNoData;
const NOT_HEARD = StatusCodes.UncertainLastUsableValue;

/** Name, type, unit of time where it has one, and what it says; null is "no such thing now". */
const FIELDS: readonly (readonly [name: string, type: Word, of: (tile: ChamberTile) => string | number | null])[] = [
  ['EquipmentState', 'String', ({ state }) => state],
  ['Reason', 'String', ({ reason }) => reason],
  ['StateSince', 'DateTime', ({ stateSince }) => stateSince],
  ['Phase', 'String', ({ phase }) => phase],
  ['PhaseSince', 'DateTime', ({ phaseSince }) => phaseSince],
  ['Step', 'Int32', ({ step }) => step],
  ['Recipe', 'String', ({ recipe }) => recipe],
  ['Run', 'String', ({ run }) => run?.run ?? null],
  ['Load', 'String', ({ run }) => run?.load ?? null],
  ['RunStartedAt', 'DateTime', ({ run }) => run?.startedAt ?? null],
  ['FinishEarly', 'DateTime', ({ run }) => run?.finish?.early ?? null],
  ['FinishLikely', 'DateTime', ({ run }) => run?.finish?.likely ?? null],
  ['FinishLate', 'DateTime', ({ run }) => run?.finish?.late ?? null],
  ['WaitingSince', 'DateTime', ({ waitingSince }) => waitingSince],
  ['Need', 'String', ({ need }) => need],
  ['StandingAlarms', 'Int32', ({ alarms }) => alarms.standing],
  ['WorstAlarm', 'String', ({ alarms }) => alarms.worst?.text ?? null],
  ['HeardAt', 'DateTime', ({ heardAt }) => heardAt],
];
/** What stays true when a chamber is not heard. */
const ALWAYS_KNOWN = ['EquipmentState', 'Reason', 'StateSince', 'HeardAt'];

const NUMBERS: readonly (readonly [name: string, of: (numbers: SeenNumbers) => number | null])[] = [
  ['OperationalUtilization', ({ operationalUtilization }) => operationalUtilization.value],
  ['OperationalUtilizationLow', ({ operationalUtilization }) => operationalUtilization.low],
  ['OperationalUtilizationHigh', ({ operationalUtilization }) => operationalUtilization.high],
  ['Coverage', ({ operationalUtilization }) => operationalUtilization.coverage],
  ['Loads', ({ loads }) => loads.completed],
  ['AlarmActivations', ({ alarms }) => alarms.activations],
];

const ITEM_STATE: Readonly<Record<EquipmentState, string | null>> = {
  productive: 'Executing',
  standby: 'NotExecuting',
  engineering: 'NotExecuting',
  'scheduled-downtime': 'OutOfService',
  'unscheduled-downtime': 'OutOfService',
  nonscheduled: 'NotExecuting',
  unobserved: null,
};
const OPERATION_MODE: Readonly<Record<EquipmentState, string | null>> = {
  productive: 'Processing',
  standby: 'Processing',
  engineering: 'Setup',
  'scheduled-downtime': 'Maintenance',
  'unscheduled-downtime': 'Processing',
  nonscheduled: 'None',
  unobserved: null,
};

export type FleetNodes = {
  tile(tile: ChamberTile): void;
  numbers(numbers: SeenNumbers): void;
};
export type FleetPlace = {
  readonly site: { readonly name: string; readonly hall: string };
  readonly chambers: readonly { readonly id: string; readonly name: string; readonly bay: string }[];
};

/** A chamber's nodes by name; numbers of the fleet as a whole hang on no chamber. */
export function fleetNodes(space: AddressSpace, { site, chambers }: FleetPlace): FleetNodes {
  const namespace = space.registerNamespace(FLEET_NAMESPACE);
  const machinery = space.getNamespaceIndex(MACHINERY);
  const machines = space.findNode(`ns=${machinery};i=${MACHINES}`) as UAObject;
  const all = new Map(
    chambers.map((chamber) => {
      const object = namespace.addObject({
        browseName: chamber.id,
        nodeId: `s=${chamber.id}`,
        organizedBy: machines,
        displayName: chamber.name,
      });
      identify(object, { namespace, machinery, ...chamber, site });
      return [chamber.id, chamberNodes(object, namespace, machinery)] as const;
    }),
  );
  return {
    tile: (tile) => all.get(tile.chamber)?.tile(tile),
    numbers: (numbers) => (numbers.chamber === null ? undefined : all.get(numbers.chamber)?.numbers(numbers)),
  };
}

function chamberNodes(object: UAObject, namespace: Namespace, machinery: number): FleetNodes {
  const id = object.browseName.name ?? '';
  const fields = FIELDS.map(([name, type]) => addVariable(namespace, object, { name, type, id }));
  const day = namespace.addObject({ browseName: 'Today', nodeId: `s=${id}.Today`, componentOf: object });
  const counts = NUMBERS.map(([name]) => addVariable(namespace, day, { name, type: 'Double', id: `${id}.Today` }));
  const blocks = namespace.addObject({
    browseName: 'MachineryBuildingBlocks',
    nodeId: `s=${id}.Blocks`,
    componentOf: object,
    typeDefinition: 'FolderType',
  });
  const item = stateMachine(blocks, namespace, { machinery, type: 'MachineryItemState_StateMachineType', name: 'MachineryItemState' });
  const mode = stateMachine(blocks, namespace, {
    machinery,
    type: 'MachineryOperationModeStateMachineType',
    name: 'MachineryOperationMode',
  });
  return {
    tile(tile) {
      const isHeard = tile.state !== 'unobserved';
      FIELDS.forEach(([name, type, of], i) => {
        const status = isHeard || ALWAYS_KNOWN.includes(name) ? StatusCodes.Good : NOT_HEARD;
        write(fields[i] as UAVariable, type, { value: of(tile), status });
      });
      item(ITEM_STATE[tile.state]);
      mode(OPERATION_MODE[tile.state]);
    },
    numbers(numbers) {
      NUMBERS.forEach(([, of], i) => write(counts[i] as UAVariable, 'Double', { value: of(numbers), status: StatusCodes.Good }));
    },
  };
}

function addVariable(namespace: Namespace, parent: UAObject, { name, type, id }: { name: string; type: Word; id: string }): UAVariable {
  const variable = namespace.addVariable({
    browseName: name,
    nodeId: `s=${id}.${name}`,
    componentOf: parent,
    dataType: type,
    accessLevel: 'CurrentRead',
    userAccessLevel: 'CurrentRead',
    minimumSamplingInterval: 250,
  });
  write(variable, type, { value: null, status: StatusCodes.BadWaitingForInitialData });
  return variable;
}

/** Nothing to say is a status, not an empty text or a zero. */
function write(variable: UAVariable, type: Word, { value, status }: { value: string | number | null; status: StatusCode }): void {
  const arrayType = VariantArrayType.Scalar;
  if (value === null) {
    const none = status.isGood() ? NOT_KNOWN : status;
    return void variable.setValueFromSource({ dataType: DataType.Null, arrayType, value: undefined }, none);
  }
  variable.setValueFromSource({ dataType: DataType[type], arrayType, value: type === 'DateTime' ? new Date(value) : value }, status);
}

type Machine = { readonly machinery: number; readonly type: string; readonly name: string };

/** Its states are the type's; who reads it sees name and node of the current one. */
function stateMachine(blocks: UAObject, namespace: Namespace, { machinery, type, name }: Machine): (state: string | null) => void {
  const definition = blocks.addressSpace.findObjectType(type, machinery) as UAObjectType;
  const machine = definition.instantiate({ browseName: { name, namespaceIndex: machinery }, componentOf: blocks, namespace });
  const current = machine.getComponentByName('CurrentState') as UAVariable;
  const id = current.getPropertyByName('Id') as UAVariable;
  return (state) => {
    if (state === null) {
      current.setValueFromSource({ dataType: DataType.Null }, StatusCodes.BadNoCommunication);
      return void id.setValueFromSource({ dataType: DataType.Null }, StatusCodes.BadNoCommunication);
    }
    const node = definition.getComponentByName(state)?.nodeId ?? NodeId.nullNodeId;
    current.setValueFromSource(
      { dataType: DataType.LocalizedText, value: new LocalizedText({ text: state, locale: 'en' }) },
      StatusCodes.Good,
    );
    id.setValueFromSource({ dataType: DataType.NodeId, value: node }, StatusCodes.Good);
  };
}

type Named = {
  readonly namespace: Namespace;
  readonly machinery: number;
  readonly id: string;
  readonly site: FleetPlace['site'];
  readonly bay: string;
};

/** OPC 40001-1 wants a maker and a serial number. Glowfleet knows neither: it says so, and names the chamber as the plant does. */
function identify(object: UAObject, { namespace, machinery, id, site, bay }: Named): void {
  const definition = object.addressSpace.findObjectType('MachineIdentificationType', machinery) as UAObjectType;
  const di = object.addressSpace.getNamespaceIndex(DI);
  const identification = definition.instantiate({
    browseName: { name: 'Identification', namespaceIndex: di },
    componentOf: object,
    namespace,
    optionals: ['ComponentName', 'Location'],
  });
  const say = (name: string, value: unknown): void => {
    const property = identification.getPropertyByName(name);
    property?.setValueFromSource(value as Parameters<UAVariable['setValueFromSource']>[0], StatusCodes.Good);
  };
  const text = (words: string) => ({ dataType: DataType.LocalizedText, value: new LocalizedText({ text: words, locale: 'en' }) });
  say('Manufacturer', text('not known'));
  say('SerialNumber', { dataType: DataType.String, value: 'not known' });
  say('ProductInstanceUri', {
    dataType: DataType.String,
    value: `${FLEET_NAMESPACE}:${encodeURIComponent(`${site.name}/${site.hall}/${id}`)}`,
  });
  say('ComponentName', text(id));
  say('Location', { dataType: DataType.String, value: `${site.hall}, ${bay}` });
}
