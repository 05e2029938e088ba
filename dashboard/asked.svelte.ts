/** Which number of the page is opened. One panel a page; the page says what window its numbers are of. */
import { getContext, setContext } from 'svelte';
import type { Explanation } from '../src/explanation.ts';
import { fetchExplanation, type Question, type Span } from './explain-api.ts';
import { sentenceOf } from './refresh.ts';

const KEY = Symbol('asked');
const PAGE_ROWS = 40;

export class Asked {
  readonly #span: () => Span | null;
  #question = $state.raw<Question | null>(null);
  #told = $state.raw<Explanation | null>(null);
  #trouble = $state.raw<string | null>(null);
  #opener: HTMLElement | null = null;

  constructor(span: () => Span | null) {
    this.#span = span;
  }

  get question(): Question | null {
    return this.#question;
  }

  get told(): Explanation | null {
    return this.#told;
  }

  get trouble(): string | null {
    return this.#trouble;
  }

  open(question: Question, opener: HTMLElement): void {
    this.#opener = opener;
    [this.#question, this.#told, this.#trouble] = [question, null, null];
    void this.more();
  }

  /** Another number of the same scope, from the panel itself. */
  beside(number: string): void {
    if (this.#question && this.#opener) this.open({ ...this.#question, number }, this.#opener);
  }

  close(): void {
    [this.#question, this.#told] = [null, null];
    this.#opener?.focus();
  }

  /** The next page of what it was made of. */
  async more(): Promise<void> {
    const [question, span, known] = [this.#question, this.#question?.run ? {} : (this.#question?.span ?? this.#span()), this.#told];
    if (!question || !span) return;
    try {
      const next = await fetchExplanation(question, span, { offset: known?.madeOf.length ?? 0, limit: PAGE_ROWS });
      if (question !== this.#question) return;
      this.#told = known ? { ...next, madeOf: [...known.madeOf, ...next.madeOf] } : next;
    } catch (error) {
      if (question === this.#question) this.#trouble = sentenceOf(error);
    }
  }
}

export function provideAsked(span: () => Span | null): Asked {
  return setContext(KEY, new Asked(span));
}

/** Null where the page opens no numbers. */
export const useAsked = (): Asked | null => getContext<Asked | undefined>(KEY) ?? null;
