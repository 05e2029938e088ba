/** A question's conditions as SQL with its values beside it, never inside it. */
import type { SQLInputValue } from 'node:sqlite';

export type Row = Record<string, unknown>;
type Where = { readonly sql: string; readonly values: readonly SQLInputValue[] };

/** What is false or undefined was not asked. */
export function whereOf(parts: readonly (readonly [string, SQLInputValue] | false | undefined)[]): Where {
  const used = parts.filter((part) => part !== false && part !== undefined);
  return { sql: used.length === 0 ? '' : `where ${used.map(([sql]) => sql).join(' and ')}`, values: used.map(([, value]) => value) };
}
