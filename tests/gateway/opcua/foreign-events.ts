/**
 * Servers of other make, as far as their events are known from their users' reports: put over the library's server by changing what it is asked and
 * what it answers. Our own kit; no other implementation stands in this repository.
 */
import { EventFilter, EventFilterResult, MonitoringMode, OPCUAServer, StatusCodes } from 'node-opcua';
import type { SimpleAttributeOperand } from 'node-opcua';

/** `silent`: takes the item, says which fields it does not know, and never tells an event (eclipse-milo#2027). `refusing`: refuses it without a word on fields. */
export type Manner = 'silent' | 'refusing';
type Create = {
  schema: { name: string };
  itemsToCreate?: { monitoringMode: MonitoringMode; requestedParameters: { filter?: unknown } }[] | null;
};
type Created = { schema: { name: string }; results?: { statusCode: unknown; filterResult: unknown }[] | null };

/** It does not know events whose path holds one of `unknown`. */
export function foreignEvents(server: OPCUAServer, manner: Manner, unknown: RegExp): { readonly asked: string[][] } {
  const asked: string[][] = [];
  const waiting: (EventFilter | null)[] = [];
  const pathOf = ({ browsePath }: SimpleAttributeOperand): string => (browsePath ?? []).map(({ name }) => name).join('.') || 'ConditionId';
  const knows = (clause: SimpleAttributeOperand): boolean => !unknown.test(pathOf(clause));
  server.on('request', (request: Create) => {
    if (request.schema.name !== 'CreateMonitoredItemsRequest') return;
    const filter = request.itemsToCreate?.[0]?.requestedParameters.filter;
    const isForeign = filter instanceof EventFilter && !(filter.selectClauses ?? []).every(knows);
    if (filter instanceof EventFilter) asked.push((filter.selectClauses ?? []).map(pathOf));
    waiting.push(isForeign ? filter : null);
    if (isForeign) for (const item of request.itemsToCreate ?? []) item.monitoringMode = MonitoringMode.Disabled;
  });
  server.on('response', (response: Created) => {
    if (response.schema.name !== 'CreateMonitoredItemsResponse') return;
    const filter = waiting.shift();
    if (!filter) return;
    for (const result of response.results ?? []) {
      const selectClauseResults = (filter.selectClauses ?? []).map((clause) =>
        knows(clause) ? StatusCodes.Good : StatusCodes.BadNodeIdUnknown,
      );
      if (manner === 'silent') result.filterResult = new EventFilterResult({ selectClauseResults });
      else result.statusCode = StatusCodes.BadEventFilterInvalid;
    }
  });
  return { asked };
}
