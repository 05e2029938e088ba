/** The changes of the site file as a table. */
import type { SiteAnswer } from '../../src/site-answer.ts';
import { utc, type Column } from './csv.ts';

type Row = { readonly at: number; readonly by: string; readonly kind: string; readonly what: string; readonly text: string };

export const siteChangeRows = (takings: SiteAnswer['takings']): Row[] =>
  takings.flatMap(({ at, by, changes }) => changes.map((change) => ({ at, by, ...change })));

export const SITE_CHANGE_COLUMNS: readonly Column<Row>[] = [
  { head: 'taken over (UTC)', cell: (row) => utc(row.at) },
  { head: 'by', cell: (row) => row.by },
  { head: 'kind', cell: (row) => row.kind },
  { head: 'what', cell: (row) => row.what },
  { head: 'in words', cell: (row) => row.text },
];
