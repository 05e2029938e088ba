/**
 * Looks through a server's Objects folder and lists its variables: path, type, engineering unit and range, present value. Only browses and
 * reads. Bounded in depth and number; loops in the address space end at the first node met twice.
 */
import {
  AttributeIds,
  BrowseDirection,
  DataType,
  NodeClass,
  NodeClassMask,
  type ClientSession,
  type DataValue,
  type ReferenceDescription,
  VariantArrayType,
} from 'node-opcua';
import type { FoundCondition, FoundVariable } from '../../src/found.ts';
import { operationLimits } from './namespaces.ts';
import { rawValue } from './raw-value.ts';
import { unitInText, unitOf } from './unit-of.ts';

const OBJECTS = 'i=85';
/** The Server object and the Aliases folder describe the server itself. */
const OWN_OBJECTS = ['ns=0;i=2253', 'ns=0;i=23470', 'ns=0;i=31915'];
const HIERARCHICAL = 'i=33';
const MOST_VARIABLES = 20_000;
const DEEPEST = 12;
const AT_ONCE = 100;
const LONGEST_VALUE = 60;
const LONGEST_DESCRIPTION = 160;

export type Browsed = {
  readonly variables: readonly FoundVariable[];
  readonly conditions: readonly FoundCondition[];
  readonly isCut: boolean;
  /** Arrays and tables, which are no tags. */
  readonly arrays: number;
};

type Place = { readonly nodeId: string; readonly path: readonly string[] };
type Seen = {
  readonly variables: (Place & { readonly properties: Map<string, string> })[];
  /** With the node of the object that holds it. */
  readonly conditions: (Place & { readonly source: string })[];
  readonly known: Set<string>;
};

export async function browseServer(session: ClientSession): Promise<Browsed> {
  const namespaces = await session.readNamespaceArray();
  const { reads, browses } = await operationLimits(session);
  const limits = { reads, browses: Math.min(browses, AT_ONCE) };
  const seen: Seen = { variables: [], conditions: [], known: new Set(OWN_OBJECTS) };
  let level: (Place & { readonly source: string })[] = [{ nodeId: OBJECTS, path: [], source: OBJECTS }];
  for (let depth = 0; depth < DEEPEST && level.length > 0 && seen.variables.length < MOST_VARIABLES; depth++) {
    const next: typeof level = [];
    for (let i = 0; i < level.length; i += limits.browses) {
      const places = level.slice(i, i + limits.browses);
      const children = await childrenOf(session, places);
      places.forEach((place, n) => next.push(...take(place, children[n] ?? [], seen)));
    }
    level = next;
  }
  const { variables, arrays } = await described(session, seen.variables.slice(0, MOST_VARIABLES), { namespaces, ...limits });
  const conditions = seen.conditions.flatMap(({ path, source }) => {
    const notifier = textOf(source, namespaces);
    return notifier === null ? [] : [{ path, name: path.at(-1) ?? '', notifier }];
  });
  return { variables, conditions, isCut: seen.variables.length > MOST_VARIABLES, arrays };
}

/** Objects to look into next; variables are noted, and so are alarm conditions, which are known by their ActiveState (OPC 10000-9 5.8.2). */
function take(
  { nodeId: parent, path, source }: Place & { readonly source: string },
  children: readonly ReferenceDescription[],
  seen: Seen,
): (Place & { readonly source: string })[] {
  if (children.some(({ browseName }) => browseName.name === 'ActiveState')) {
    seen.conditions.push({ nodeId: parent, path, source });
    return [];
  }
  const objects: (Place & { readonly source: string })[] = [];
  for (const child of children) {
    const nodeId = child.nodeId.toString();
    const name = child.browseName.name ?? '';
    if (seen.known.has(nodeId) || name === '') continue;
    seen.known.add(nodeId);
    const place = { nodeId, path: [...path, name] };
    if (Number(child.nodeClass) === Number(NodeClass.Object)) objects.push({ ...place, source: parent });
    else if (Number(child.nodeClass) === Number(NodeClass.Variable)) seen.variables.push({ ...place, properties: new Map() });
  }
  return objects;
}

export async function childrenOf(
  session: ClientSession,
  places: readonly { nodeId: string }[],
): Promise<readonly ReferenceDescription[][]> {
  const results = await session.browse(
    places.map(({ nodeId }) => ({
      nodeId,
      referenceTypeId: HIERARCHICAL,
      includeSubtypes: true,
      browseDirection: BrowseDirection.Forward,
      nodeClassMask: NodeClassMask.Object | NodeClassMask.Variable,
      resultMask: 63,
    })),
  );
  const found: ReferenceDescription[][] = [];
  for (const result of results) {
    const references = [...(result.references ?? [])];
    let { continuationPoint } = result;
    while (continuationPoint && continuationPoint.length > 0) {
      const more = await session.browseNext(continuationPoint, false);
      references.push(...(more.references ?? []));
      continuationPoint = more.continuationPoint;
    }
    found.push(references);
  }
  return found;
}

type Reading = { readonly namespaces: readonly string[]; readonly reads: number; readonly browses: number };

/** Type, unit, range and value of each variable. */
async function described(
  session: ClientSession,
  variables: Seen['variables'],
  reading: Reading,
): Promise<{ readonly variables: FoundVariable[]; readonly arrays: number }> {
  await findProperties(session, variables, reading.browses);
  const nodes = variables.map(({ nodeId }) => nodeId);
  const values = await readValues(session, nodes, reading.reads);
  const details = await readValues(
    session,
    variables.flatMap(({ properties }) => [...properties.values()]),
    reading.reads,
  );
  const descriptions = await readValues(session, nodes, reading.reads, AttributeIds.Description);
  // A value that cannot be read now has no type of its own; its node has.
  const typeless = nodes.filter((nodeId) => (values.get(nodeId)?.value.dataType ?? DataType.Null) === DataType.Null);
  const types = await readValues(session, typeless, reading.reads, AttributeIds.DataType);
  const found = variables.flatMap((place): (FoundVariable | 'array')[] => {
    const value = values.get(place.nodeId);
    const node = textOf(place.nodeId, reading.namespaces);
    if (node === null || value === undefined) return [];
    if (value.value.arrayType !== VariantArrayType.Scalar) return ['array'];
    const property = (name: string): unknown => details.get(place.properties.get(name) ?? '')?.value.value;
    const description = (descriptions.get(place.nodeId)?.value.value as { text?: string | null } | null)?.text ?? '';
    return [
      {
        path: place.path,
        node,
        type: typeOf(value.value.dataType || builtIn(types.get(place.nodeId))),
        ...unitFound(property('EngineeringUnits'), description),
        range: rangeOf(property('EURange')),
        value: value.statusCode.isGood() ? String(rawValue(value.value)).slice(0, LONGEST_VALUE) : value.statusCode.name,
        description: description.slice(0, LONGEST_DESCRIPTION),
        ...(value.statusCode.isGood() ? {} : { unread: value.statusCode.name }),
      },
    ];
  });
  const kept = found.filter((one) => one !== 'array');
  return { variables: kept, arrays: found.length - kept.length };
}

type UnitFound = Pick<FoundVariable, 'unit' | 'unitText' | 'isUnitFromDescription'>;

/** The property goes first: a description is only a programmer's note. */
function unitFound(property: unknown, description: string): UnitFound {
  const { known, text } = unitOf((property as Parameters<typeof unitOf>[0] | undefined) ?? null);
  const noted = known === null && text === null ? unitInText(description) : null;
  return noted === null ? { unit: known, unitText: text } : { unit: noted.known, unitText: noted.text, isUnitFromDescription: true };
}

function rangeOf(property: unknown): FoundVariable['range'] {
  const { low, high } = (property ?? {}) as { low?: unknown; high?: unknown };
  return typeof low === 'number' && typeof high === 'number' ? [low, high] : null;
}

/** The numbers of the built-in types are those of their nodes in the standard's namespace (OPC 10000-6 5.1.2). */
function builtIn(type: DataValue | undefined): DataType {
  const id = /^(?:ns=0;)?i=(\d+)$/.exec(String(type?.value.value ?? ''))?.[1];
  return id === undefined ? DataType.Null : Number(id);
}

/** EngineeringUnits and EURange hang on the variable as properties (OPC 10000-8 5.3.2.3). */
async function findProperties(session: ClientSession, variables: Seen['variables'], limit: number): Promise<void> {
  for (let i = 0; i < variables.length; i += limit) {
    const places = variables.slice(i, i + limit);
    const children = await childrenOf(session, places);
    places.forEach(({ properties }, n) => {
      for (const { browseName, nodeId } of children[n] ?? []) {
        if (browseName.name === 'EngineeringUnits' || browseName.name === 'EURange') properties.set(browseName.name, nodeId.toString());
      }
    });
  }
}

export async function readValues(
  session: ClientSession,
  nodeIds: readonly string[],
  limit: number,
  attributeId = AttributeIds.Value,
): Promise<ReadonlyMap<string, DataValue>> {
  const found = new Map<string, DataValue>();
  for (let i = 0; i < nodeIds.length; i += limit) {
    const batch = nodeIds.slice(i, i + limit);
    const values = await session.read(
      batch.map((nodeId) => ({ nodeId, attributeId })),
      0,
    );
    values.forEach((value, n) => found.set(batch[n] as string, value));
  }
  return found;
}

/** By namespace URI, as the site file has it. Null for the standard's own nodes. */
function textOf(nodeId: string, namespaces: readonly string[]): string | null {
  const parts = /^ns=(\d+);(.+)$/s.exec(nodeId);
  const index = Number(parts?.[1] ?? 0);
  return index === 0 || namespaces[index] === undefined ? null : `nsu=${namespaces[index]};${parts?.[2] ?? ''}`;
}

const INTEGERS = [
  DataType.SByte,
  DataType.Byte,
  DataType.Int16,
  DataType.UInt16,
  DataType.Int32,
  DataType.UInt32,
  DataType.Int64,
  DataType.UInt64,
];

function typeOf(dataType: DataType): FoundVariable['type'] {
  if (dataType === DataType.Boolean) return 'boolean';
  if (dataType === DataType.Float || dataType === DataType.Double) return 'number';
  if (dataType === DataType.String || dataType === DataType.LocalizedText) return 'text';
  return INTEGERS.includes(dataType) ? 'integer' : 'other';
}
