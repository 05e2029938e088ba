/** What was found in an unknown server, and which signals it could be. */
import type { SignalName } from './signal.ts';
import type { Unit } from './units.ts';

export type FoundVariable = {
  /** Browse names from the Objects folder down, its own last. */
  readonly path: readonly string[];
  /** `nsu=<uri>;s=<id>` */
  readonly node: string;
  readonly type: 'number' | 'integer' | 'boolean' | 'text' | 'other';
  /** In our words, null where the server names none or one we do not know. */
  readonly unit: Unit | null;
  /** As the server shows it. */
  readonly unitText: string | null;
  readonly range: readonly [number, number] | null;
  readonly value: string;
  readonly description: string;
  /** The status, where it could not be read. */
  readonly unread?: string;
  /** The unit stands only in the description. */
  readonly isUnitFromDescription?: boolean;
};

/** An alarm that is told as an event. `notifier` is the node of the object that it belongs to. */
export type FoundCondition = { readonly path: readonly string[]; readonly name: string; readonly notifier: string };

export type Candidate = {
  readonly signal: SignalName;
  readonly variable: FoundVariable;
  readonly score: number;
  readonly reason: string;
  readonly inverted: boolean;
  /** Next best variables, by name. */
  readonly others: readonly string[];
};
export type FoundAlarm = { readonly code: string; readonly text: string; readonly variable: FoundVariable };
export type FoundChamber = {
  readonly name: string;
  readonly path: readonly string[];
  readonly candidates: readonly Candidate[];
  readonly alarms: readonly FoundAlarm[];
  /** Whole numbers whose bits are alarms. */
  readonly alarmWords: readonly FoundVariable[];
  readonly conditions: readonly FoundCondition[];
  readonly unused: readonly FoundVariable[];
  /** Of the signals without which runs cannot be told, those that have no candidate. */
  readonly missing: readonly SignalName[];
};
