/**
 * A chamber's nodes in an OPC UA address space: an object per chamber, a folder per group, a variable per tag, all named by the tag's path.
 * Read only: nothing here can be commanded. Values carry the device's clock as source timestamp and plant time as server timestamp.
 */
import {
  type AddressSpace,
  type BaseNode,
  DataType,
  DataValue,
  type Namespace,
  StatusCodes,
  type UAObject,
  type UAVariable,
  Variant,
  VariantArrayType,
} from 'node-opcua';
import { engineeringUnit } from './engineering-unit.ts';
import type { RawValue, SimulatedChamber, SimulatedTag } from './plant-port.ts';
import type { LastValue } from './process-image.ts';

const PLANT_NAMESPACE = 'urn:quellmoor:hall-3';

/** The library's own entry for a value with both timestamps; its public one sets the server timestamp equal to the source's. */
type TimestampedVariable = UAVariable & { _internal_set_dataValue(value: DataValue): void };

export type ChamberNodes = {
  readonly object: UAObject;
  set(tag: number, last: LastValue): void;
};

/** `shift` unused namespaces come first: after a restart the index of ours is another, as real servers do. */
export function plantNamespace(addressSpace: AddressSpace, shift: number): Namespace {
  for (let i = 0; i < shift; i++) addressSpace.registerNamespace(`${PLANT_NAMESPACE}:unused-${i}`);
  return addressSpace.registerNamespace(PLANT_NAMESPACE);
}

/** Past values of a tag, by source time. */
export type PastOf = (tag: number, span: { readonly from: number; readonly to: number }) => readonly LastValue[];
type ChamberPlace = { readonly hall: BaseNode; readonly past: PastOf | null };

/** With `past` every tag keeps its history. */
export function chamberNodes(namespace: Namespace, chamber: SimulatedChamber, { hall, past }: ChamberPlace): ChamberNodes {
  const object = namespace.addObject({
    browseName: chamber.id,
    nodeId: `s=${chamber.id}`,
    organizedBy: hall,
    eventSourceOf: namespace.addressSpace.rootFolder.objects.server,
    eventNotifier: 1,
  });
  const folders = new Map<string, UAObject>([[chamber.id, object]]);
  const variables = chamber.tags.map((tag) => variable(namespace, folderOf(tag.path, { namespace, folders, root: object }), tag));
  if (past !== null)
    variables.forEach((node, tag) => keepHistory(node, (chamber.tags[tag] as SimulatedTag).type, (span) => past(tag, span)));
  return {
    object,
    set(tag, last) {
      const type = (chamber.tags[tag] as SimulatedTag).type;
      variables[tag]?._internal_set_dataValue(dataValue(type, last));
    },
  };
}

type Folders = { readonly namespace: Namespace; readonly folders: Map<string, UAObject>; readonly root: UAObject };

function folderOf(path: string, parts: Folders): UAObject {
  const folderPath = path.slice(0, Math.max(0, path.lastIndexOf('/')));
  if (folderPath === '') return parts.root;
  const known = parts.folders.get(folderPath);
  if (known !== undefined) return known;
  const folder = parts.namespace.addObject({
    browseName: leaf(folderPath),
    nodeId: `s=${folderPath}`,
    typeDefinition: 'FolderType',
    componentOf: folderOf(folderPath, parts),
  });
  parts.folders.set(folderPath, folder);
  return folder;
}

function variable(namespace: Namespace, folder: UAObject, tag: SimulatedTag): TimestampedVariable {
  const options = {
    browseName: leaf(tag.path),
    description: tag.description,
    nodeId: `s=${tag.path}`,
    componentOf: folder,
    dataType: tag.type,
    accessLevel: 'CurrentRead',
    userAccessLevel: 'CurrentRead',
    minimumSamplingInterval: 0,
  } as const;
  const node =
    tag.range === null || tag.unit === null
      ? namespace.addVariable(options)
      : namespace.addAnalogDataItem({
          ...options,
          engineeringUnitsRange: { low: tag.range[0], high: tag.range[1] },
          engineeringUnits: engineeringUnit(tag.unit),
        });
  return node as TimestampedVariable;
}

/** The library asks for raw values only; start and end are of the source's clock. */
function keepHistory(
  node: TimestampedVariable,
  type: SimulatedTag['type'],
  past: (span: { from: number; to: number }) => readonly LastValue[],
): void {
  node.addressSpace.installHistoricalDataNode(node, {
    historian: {
      push: () => Promise.resolve(),
      extractDataValues: ({ startTime, endTime }, most, _isReversed, _reverse, done) => {
        const span = { from: startTime?.getTime() ?? 0, to: endTime?.getTime() ?? Infinity };
        const found = past(span).map((last) => dataValue(type, last));
        done(null, most > 0 ? found.slice(0, most) : found);
      },
    },
  });
}

function leaf(path: string): string {
  return path.slice(path.lastIndexOf('/') + 1);
}

function dataValue(type: SimulatedTag['type'], last: LastValue): DataValue {
  const value = new DataValue(null);
  const arrayType = VariantArrayType.Scalar;
  value.value = new Variant({ dataType: DataType[type], arrayType, value: type === 'UInt64' ? words(Number(last.value)) : last.value });
  value.statusCode = StatusCodes.Good;
  value.sourceTimestamp = new Date(last.sourceAt);
  value.serverTimestamp = new Date(last.at);
  return value;
}

/** The library carries 64-bit integers as [high word, low word]. */
function words(value: RawValue & number): [number, number] {
  return [Math.floor(value / 2 ** 32) >>> 0, value >>> 0];
}
