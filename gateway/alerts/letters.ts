/**
 * Takes the summary of the week to its receivers on Monday. A letter per mail route is put on disk when the summary is due, named by week and
 * route, so that there is one however often the gateway starts; it is delivered when the mail server said so and that is on disk. At least
 * once: a crash between the two sends again, with the same Message-ID. What it says is made when it is sent, of the facts known then.
 */
import type { WeekLetter } from '../../src/contract.ts';
import type { DueSummary } from '../../src/week-due.ts';
import type { Clock } from '../clock.ts';
import type { LetterStore } from '../store/store.ts';
import { afterAttempt, type Outcome } from './retry.ts';
import type { AlertRoute, MailRoute } from './route.ts';
import { sendBySmtp, type Mail } from './smtp.ts';

/** A summary ready to be sent. */
export type Composed = {
  readonly subject: string;
  readonly text: string;
  readonly html: string;
  readonly attachment: { readonly name: string; readonly bytes: Buffer };
  readonly figures: NonNullable<WeekLetter['figures']>;
};

export type LetterParts = {
  readonly store: LetterStore;
  readonly routes: readonly AlertRoute[];
  /** Of the routes, those that get the summary. */
  readonly names: readonly string[];
  readonly due: (now: number) => DueSummary | null;
  /** Whether there is any fact of that week. */
  readonly isOnRecord: (week: string) => Promise<boolean>;
  readonly compose: (week: string) => Promise<Composed>;
  readonly clock: Clock;
  /** 0..1 */
  readonly random: () => number;
  readonly log: (message: string, error?: unknown) => void;
  /** The store failed: the process must end and reopen. */
  readonly onFatal: (error: unknown) => void;
  readonly send?: (route: MailRoute, mail: Mail) => Promise<Outcome>;
  readonly pollMs?: number;
};

export type Letters = {
  /** What did not get through, in sentences. */
  problems(): readonly string[];
  /** Resolves when no letter is under way. */
  close(): Promise<void>;
};

const POLL_MS = 1_000;
const TIMEOUT_MS = 20_000;

export function openLetters(parts: LetterParts): Letters {
  const round = new LetterRound(parts);
  const timer = setInterval(() => round.look(), parts.pollMs ?? POLL_MS);
  round.look();
  return {
    problems: () => round.problems(),
    close: async () => {
      clearInterval(timer);
      await round.stop();
    },
  };
}

class LetterRound {
  readonly #parts: LetterParts;
  /** The week whose letters are on disk already. */
  #planned: string | null = null;
  #known: ReadonlyMap<string, WeekLetter> | null = null;
  #looking: Promise<void> | null = null;
  #stopped = false;

  constructor(parts: LetterParts) {
    this.#parts = parts;
  }

  look(): void {
    if (this.#stopped) return;
    this.#looking ??= this.#round()
      .catch((error: unknown) => this.#fail(error))
      .finally(() => (this.#looking = null));
  }

  async stop(): Promise<void> {
    this.#stopped = true;
    await this.#looking;
  }

  problems(): readonly string[] {
    const letters = [...(this.#known?.values() ?? [])];
    const newest = letters.reduce((latest, { week }) => (week > latest ? week : latest), '');
    return letters.flatMap(({ week, route, state, lastError }) => {
      if (week !== newest || lastError === null || state === 'delivered') return [];
      return [`The summary of week ${week} ${state === 'dead' ? 'was not' : 'is not yet'} mailed by route ${route}: ${lastError}`];
    });
  }

  async #round(): Promise<void> {
    const { store, clock } = this.#parts;
    this.#known ??= byId(await store.letters({}));
    await this.#plan();
    const due = await store.letters({ dueBefore: clock.now() + 1 });
    await Promise.all(due.map((letter) => this.#deliver(letter)));
  }

  async #plan(): Promise<void> {
    const { store, names, clock, due, isOnRecord } = this.#parts;
    const summary = names.length === 0 ? null : due(clock.now());
    if (summary === null || summary.week === this.#planned || !(await isOnRecord(summary.week))) return;
    await store.addLetters(names.map((route) => newLetter(summary, route)));
    this.#planned = summary.week;
  }

  async #deliver(letter: WeekLetter): Promise<void> {
    const { store, clock, random, log } = this.#parts;
    if (this.#stopped) return;
    const { outcome, figures } = await this.#attempt(letter);
    const now = clock.now();
    const [ageMs, giveUpMs] = [(now - letter.dueAt) / clock.speed, (letter.until - letter.dueAt) / clock.speed];
    const tried = afterAttempt(letter, outcome, { now, speed: clock.speed, ageMs, giveUpMs, random: random() });
    const next = tried.state === 'delivered' ? { ...tried, figures } : tried;
    await store.saveLetter(next);
    this.#known = new Map(this.#known).set(next.id, next);
    if (next.state === 'dead') log(`The summary of week ${next.week} by route ${next.route} was given up: ${next.lastError}`);
  }

  async #attempt(letter: WeekLetter): Promise<{ readonly outcome: Outcome; readonly figures: WeekLetter['figures'] }> {
    const { routes, names, clock, compose, log } = this.#parts;
    const route = routes.find((one): one is MailRoute => one.name === letter.route && one.type === 'mail');
    if (route === undefined || !names.includes(route.name))
      return refused('The site file sends no summary by a mail route of this name any more.');
    if (clock.now() >= letter.until) return refused('Its week was over before it could be sent.');
    try {
      const { attachment, figures, ...words } = await compose(letter.week);
      const attachments = [{ filename: attachment.name, content: attachment.bytes, contentType: 'application/pdf' }];
      const mail = { id: letter.id, at: clock.now(), ...words, attachments };
      return { outcome: await (this.#parts.send ?? sendByRoute)(route, mail), figures };
    } catch (error) {
      log(`The summary of week ${letter.week} could not be made`, error);
      return {
        outcome: { type: 'failed', reason: 'The summary could not be made; the gateway log says why.', afterMs: null },
        figures: null,
      };
    }
  }

  #fail(error: unknown): void {
    this.#stopped = true;
    this.#parts.onFatal(error);
  }
}

const refused = (reason: string) => ({ outcome: { type: 'refused', reason } as const, figures: null });

const sendByRoute = ({ smtp, from, to, user }: MailRoute, mail: Mail): Promise<Outcome> =>
  sendBySmtp({ smtp, from, to, user, timeoutMs: TIMEOUT_MS }, mail);

const byId = (letters: readonly WeekLetter[]): ReadonlyMap<string, WeekLetter> => new Map(letters.map((letter) => [letter.id, letter]));

function newLetter({ week, dueAt, until }: DueSummary, route: string): WeekLetter {
  const id = `week|${week}|${route}`;
  return { id, week, route, dueAt, until, state: 'waiting', attempts: 0, nextAt: dueAt, deliveredAt: null, lastError: null, figures: null };
}
