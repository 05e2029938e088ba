/** Asks how a number came about. */
import { explanation, type Explanation } from '../src/explanation.ts';
import { get } from './api.ts';

/** What a page's numbers are of; nothing for those that are of now. */
export type Span =
  | { readonly week: string }
  | { readonly from: number; readonly to: number }
  | { readonly window: string }
  | { readonly run: string }
  | Record<string, never>;

/** `run`: of that run, whatever window the page is of; `span`: of another window than the page's. */
export type Question = {
  readonly number: string;
  readonly chamber: string | null;
  readonly run: string | null;
  readonly span: Span | null;
};

export function fetchExplanation(
  { number, chamber, run }: Question,
  span: Span,
  page: { readonly offset: number; readonly limit: number },
): Promise<Explanation> {
  const asked = { number, ...(chamber === null ? {} : { chamber }), ...(run === null ? span : { run }), ...page };
  const words = Object.entries(asked).map(([key, value]): [string, string] => [key, String(value)]);
  return get(`/api/explain?${new URLSearchParams(words)}`, explanation);
}
