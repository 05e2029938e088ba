/**
 * The alarm conditions of a site file held against a live server, a line each: are events told, is what stands replayed, is each named condition there,
 * of which type and severity, with a text, and does the clock of events fit.
 */
import { AttributeIds, BrowseDirection, NodeClassMask } from 'node-opcua';
import type { ClientSession } from 'node-opcua';
import type { SiteFile } from '../../src/config.ts';
import { alarmSignal } from '../../src/signal.ts';
import { tagTable, templateOf, type TagNode, type TagTarget } from '../../src/tag-map.ts';
import { lookAtNotifier, type SeenCondition, type SeenNotifier } from './condition-look.ts';
import type { ServerPart } from './client.ts';
import type { CheckLine } from './check-table.ts';
import { nodeIdIn } from './namespaces.ts';

type Judged = Pick<CheckLine, 'verdict' | 'text'>;
type Where = { readonly session: ClientSession; readonly namespaces: readonly string[]; readonly now: () => number };
const fault = (text: string): Judged => ({ verdict: 'fault', text });
const warning = (text: string): Judged => ({ verdict: 'warning', text });
const MOST_NAMED = 8;
const OPTIONAL_STATES = [
  ['AckedState.Id', 'acknowledged'],
  ['ConfirmedState.Id', 'confirmed'],
  ['LatchedState.Id', 'latched'],
  ['ShelvingState.CurrentState.Id', 'shelved'],
  ['SuppressedState.Id', 'suppressed by design'],
  ['OutOfServiceState.Id', 'out of service'],
] as const;

export async function conditionLines(site: SiteFile, server: ServerPart, where: Where): Promise<readonly CheckLine[]> {
  const nodes = [...tagTable(site, server.name).values()].filter(({ kind }) => kind === 'condition');
  const byNotifier = Map.groupBy(nodes, ({ node }) => node.slice(0, node.lastIndexOf('#')));
  const lines: CheckLine[] = [];
  for (const [notifier, conditions] of byNotifier) lines.push(...(await notifierLines(site, { server, notifier, conditions }, where)));
  return lines;
}

type Asked = { readonly server: ServerPart; readonly notifier: string; readonly conditions: readonly TagNode[] };

async function notifierLines(site: SiteFile, { server, notifier, conditions }: Asked, where: Where): Promise<CheckLine[]> {
  const at = { server: server.name, chamber: '', signal: '' };
  const nodeId = nodeIdIn(where.namespaces, notifier);
  if (nodeId === null)
    return [{ ...at, ...fault(`The server has no namespace of ${notifier}. Look with discover, and correct the notifier.`) }];
  const seen = await lookAtNotifier(where.session, nodeId, where.now);
  const refusal = refusalOf(notifier, seen);
  if (refusal !== null) return [{ ...at, ...refusal }];
  const heard = seen.conditions;
  const names = conditions.map(nameOf);
  const more = [...heard.keys()].filter((name) => !names.includes(name));
  const present = new Set([...heard.keys(), ...(await instancesUnder(where.session, nodeId))]);
  const types = await typeNames(where.session, [...heard.values()]);
  const alarms = conditions.flatMap((node) =>
    mainTargets(node).map((target) => ({
      ...{ server: server.name, chamber: target.chamber, signal: target.signal },
      ...alarmLine(site, { target, name: nameOf(node), seen: heard.get(nameOf(node)), isPresent: present.has(nameOf(node)), types }),
    })),
  );
  const own = [replayLine(notifier, seen), clockLine(server, seen), moreLine(notifier, more)].filter((line) => line !== null);
  return [...own.map((line) => ({ ...at, ...line })), ...alarms];
}

const nameOf = ({ node }: TagNode): string => node.slice(node.lastIndexOf('#') + 1);
const mainTargets = ({ targets }: TagNode): readonly TagTarget[] => targets.filter(({ signal }) => alarmSignal(signal)?.side === 'active');

function refusalOf(notifier: string, { refused }: SeenNotifier): Judged | null {
  switch (refused) {
    case null:
      return null;
    case 'no node':
      return fault(`There is no node ${notifier}. Look with discover, and correct the notifier.`);
    case 'no notifier':
      return fault(`${notifier} tells no events. Name the object that tells the alarms as notifier under conditions; discover lists it.`);
    default:
      return fault(`Events of ${notifier} were refused (${refused}). Allow this user to read them at the server.`);
  }
}

function replayLine(notifier: string, { refreshRefused, unknownFields }: SeenNotifier): Judged {
  if (refreshRefused !== null)
    return fault(
      `What stands is not replayed (ConditionRefresh: ${refreshRefused}): after a reconnect nobody knows it. Allow the method at the server.`,
    );
  const untold = OPTIONAL_STATES.filter(([field]) => unknownFields.includes(field)).map(([, word]) => word);
  if (untold.length > 0)
    return { verdict: 'ok', text: `${notifier} tells events, and replays what stands. It does not know: ${untold.join(', ')}.` };
  return { verdict: 'ok', text: `${notifier} tells events, and replays what stands.` };
}

function clockLine({ skewToleranceS }: ServerPart, { clockOffMs, refreshRefused }: SeenNotifier): Judged | null {
  if (refreshRefused !== null) return null;
  if (clockOffMs === null)
    return { verdict: 'ok', text: 'Its refresh is not bracketed, so the clock of its events shows with the next alarm.' };
  const offS = clockOffMs / 1000;
  if (Math.abs(offS) <= skewToleranceS)
    return { verdict: 'ok', text: `The clock of events is right to ${Math.max(1, Math.abs(offS)).toFixed(0)} s.` };
  return warning(
    `Events are stamped ${Math.abs(offS).toFixed(0)} s ${offS < 0 ? 'ago' : 'ahead'}: set the server's clock, or alarms will bear the time of receipt.`,
  );
}

function moreLine(notifier: string, names: readonly string[]): Judged | null {
  if (names.length === 0) return null;
  const named = names.slice(0, MOST_NAMED).map((name) => `"${name.slice(0, 40)}"`);
  return warning(
    `${notifier} tells ${names.length} more than the site file names, and they are not read: ${named.join(', ')}. Add those you need to alarms.`,
  );
}

type Alarm = {
  readonly target: TagTarget;
  readonly name: string;
  readonly seen: SeenCondition | undefined;
  readonly isPresent: boolean;
  readonly types: ReadonlyMap<string, string>;
};

function alarmLine(site: SiteFile, { target, name, seen, isPresent, types }: Alarm): Judged {
  if (seen === undefined && isPresent) return { verdict: 'ok', text: `Condition "${name}" is there, at rest.` };
  if (seen === undefined)
    return warning(
      `Condition "${name}" does not stand now and no node bears its name, so it was not seen. Compare the name with what discover lists.`,
    );
  const type = types.get(String(seen.eventType)) ?? 'unknown type';
  const told = `${stateWords(seen)}; ${type}, severity ${seen.severity ?? 'not told'}`;
  if (seen.message === '')
    return warning(`${told}, but its events carry no text. Persons will read the site file's text; let the controller give one.`);
  if (seen.severity === null) return warning(`${told}. Set its priority in the site file by what it means.`);
  const priority = priorityOf(site, target);
  const usual = usualPriority(seen.severity);
  return priority === usual
    ? { verdict: 'ok', text: told }
    : { verdict: 'ok', text: `${told}, which is usually ${usual}; the site file says ${priority}` };
}

/** Which of its states it tells, and how they are. */
function stateWords({ event }: SeenCondition): string {
  const words = [
    event.flag('ActiveState.Id') === true ? 'active' : 'at rest',
    ...(event.flag('AckedState.Id') === undefined ? ['tells no acknowledgement'] : event.flag('AckedState.Id') ? [] : ['not acknowledged']),
    ...(event.flag('ConfirmedState.Id') === false ? ['not confirmed'] : []),
    ...(event.flag('LatchedState.Id') === true ? ['latched'] : []),
    ...(event.flag('SuppressedOrShelved') === true ? ['shelved or suppressed'] : []),
  ];
  return words.join(', ');
}

/** OPC 10000-9 leaves severities to the server; in equal thirds of 1..1000. Our own reading. */
const usualPriority = (severity: number): string => (severity > 667 ? 'high' : severity > 333 ? 'medium' : 'low');

function priorityOf(site: SiteFile, { chamber, signal }: TagTarget): string {
  const own = site.chambers.find(({ id }) => id === chamber);
  const code = alarmSignal(signal)?.code ?? '';
  return own === undefined ? '' : (templateOf(site, own).alarms[code]?.priority ?? '');
}

async function instancesUnder(session: ClientSession, nodeId: string): Promise<readonly string[]> {
  const { references } = await session.browse({
    ...{ nodeId, includeSubtypes: true, browseDirection: BrowseDirection.Forward, nodeClassMask: NodeClassMask.Object, resultMask: 63 },
  });
  return (references ?? []).map(({ browseName }) => browseName.name ?? '');
}

async function typeNames(session: ClientSession, seen: readonly SeenCondition[]): Promise<ReadonlyMap<string, string>> {
  const types = [
    ...new Map(seen.flatMap(({ eventType }) => (eventType === null ? [] : [[eventType.toString(), eventType] as const]))).values(),
  ];
  if (types.length === 0) return new Map();
  const names = await session.read(types.map((nodeId) => ({ nodeId, attributeId: AttributeIds.BrowseName })));
  return new Map(
    types.map((type, i) => [type.toString(), (names[i]?.value.value as { name?: string | null } | null)?.name ?? 'unknown type']),
  );
}
