/**
 * Which fields of condition events are asked for. Servers differ in what they make of a field that they do not know: OPC 10000-4 7.22.3 wants a null in
 * its place, some refuse the item, and some take it and then never tell any event (eclipse-milo#2027). So what a server does not know is asked
 * for once and then left out. The type named with a field is BaseEventType, under which a server is to look in all types (OPC 10000-4 7.4.4.5); where it
 * does not find even what every condition has, the type that declares the field is named instead.
 */
import { constructSelectClause, EventFilter, EventFilterResult, resolveNodeId } from 'node-opcua';
import type { StatusCode } from 'node-opcua';

/** Declared by, and whether an alarm can be told without it. */
const FIELDS = {
  EventType: ['BaseEventType', 'needed'],
  Time: ['BaseEventType', 'needed'],
  ReceiveTime: ['BaseEventType', 'needed'],
  ConditionName: ['ConditionType', 'needed'],
  Retain: ['ConditionType', 'needed'],
  BranchId: ['ConditionType', 'needed'],
  'ActiveState.Id': ['AlarmConditionType', 'needed'],
  'ActiveState.TransitionTime': ['AlarmConditionType', 'extra'],
  'AckedState.Id': ['AcknowledgeableConditionType', 'extra'],
  'ConfirmedState.Id': ['AcknowledgeableConditionType', 'extra'],
  'LatchedState.Id': ['AlarmConditionType', 'extra'],
  SuppressedOrShelved: ['AlarmConditionType', 'extra'],
  'SuppressedState.Id': ['AlarmConditionType', 'extra'],
  'OutOfServiceState.Id': ['AlarmConditionType', 'extra'],
  'ShelvingState.CurrentState.Id': ['AlarmConditionType', 'extra'],
  'ShelvingState.UnshelveTime': ['AlarmConditionType', 'extra'],
  Message: ['BaseEventType', 'extra'],
  Severity: ['BaseEventType', 'extra'],
  EventId: ['BaseEventType', 'extra'],
  ConditionId: ['ConditionType', 'extra'],
} as const;
export type ConditionField = keyof typeof FIELDS;

/** Without them nothing can be acknowledged, and nothing else needs them. */
const FOR_ACKNOWLEDGING: readonly ConditionField[] = ['EventId', 'ConditionId'];
const FOR_LOOKING: readonly ConditionField[] = ['Message', 'Severity'];

export type FieldChoice = {
  readonly fields: readonly ConditionField[];
  /** Those asked for under the type that declares them. */
  readonly typed: readonly ConditionField[];
};

export function fieldsFor(purpose: { readonly acknowledges?: boolean; readonly looks?: boolean }): FieldChoice {
  const all = Object.keys(FIELDS) as ConditionField[];
  const fields = all.filter(
    (field) =>
      (purpose.acknowledges === true || !FOR_ACKNOWLEDGING.includes(field)) && (purpose.looks === true || !FOR_LOOKING.includes(field)),
  );
  return { fields, typed: [] };
}

export function conditionFilter({ fields, typed }: FieldChoice): EventFilter {
  const selectClauses = constructSelectClause([...fields]);
  fields.forEach((field, i) => {
    const clause = selectClauses[i];
    if (clause && typed.includes(field) && field !== 'ConditionId') clause.typeDefinitionId = resolveNodeId(FIELDS[field][0]);
  });
  return new EventFilter({ selectClauses });
}

/** What an item said of its filter when it was created. */
export type ItemAnswer = { readonly statusCode: StatusCode; readonly filterResult: unknown };

const isNeeded = (field: ConditionField): boolean => FIELDS[field][1] === 'needed';

/** What to ask instead; null where every field is known, or nothing is said of them. */
export function narrowed({ fields, typed }: FieldChoice, answers: readonly ItemAnswer[]): FieldChoice | null {
  const bad = new Set(answers.flatMap((answer) => unknownOf(answer, fields)));
  if (bad.size === 0) return null;
  const kept = fields.filter((field) => !bad.has(field) || isNeeded(field));
  return { fields: kept, typed: [...typed, ...kept.filter((field) => bad.has(field))] };
}

/** Refused as a whole without a word about fields: then only what is needed is asked for. */
function unknownOf({ statusCode, filterResult }: ItemAnswer, fields: readonly ConditionField[]): readonly ConditionField[] {
  const results = filterResult instanceof EventFilterResult ? (filterResult.selectClauseResults ?? []) : [];
  const unknown = results.flatMap((status, i) => (status.isNotGood() ? (fields[i] ?? []) : []));
  if (unknown.length > 0) return unknown;
  return /Filter/.test(statusCode.name) && statusCode.isNotGood() ? fields.filter((field) => !isNeeded(field)) : [];
}
