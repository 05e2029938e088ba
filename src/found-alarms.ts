/**
 * Which variables of an unknown server are alarms.
 * [DS6] Booleans under alarm words become alarms; their code is their name in capitals. Whole numbers named as alarm words carry alarms by bit:
 *       they are told apart, because only a person knows what a bit means.
 * [DS11] A whole number that is named as a word, or whose description numbers bits, may carry doors, valves and switches by bit. Which, a person knows.
 */
import type { FoundAlarm, FoundVariable } from './found.ts';
import { termsOf, wordsOf } from './name-words.ts';

const ALARM_WORDS = ['alarm', 'alarms', 'fault', 'faults', 'warning', 'warnings', 'error', 'errors', 'trip'];
const WORD_WORDS = ['word', 'words', 'bits', 'register', 'mask', 'flags'];

/** [DS6] */
export function isAlarm({ type, path }: FoundVariable, depth: number): boolean {
  return (
    type === 'boolean' &&
    path
      .slice(depth)
      .flatMap(termsOf)
      .some((word) => ALARM_WORDS.includes(word))
  );
}

/** [DS11] */
export function isWordOfBits({ type, path, description }: FoundVariable): boolean {
  return type === 'integer' && (/\bbit ?\d/i.test(description) || termsOf(path.at(-1) ?? '').some((word) => WORD_WORDS.includes(word)));
}

/** [DS6] */
export function isAlarmWord({ type, path }: FoundVariable): boolean {
  const own = termsOf(path.at(-1) ?? '');
  return type === 'integer' && own.some((word) => ALARM_WORDS.includes(word)) && own.some((word) => WORD_WORDS.includes(word));
}

export function alarmOf(variable: FoundVariable): FoundAlarm {
  const name = variable.path.at(-1) ?? '';
  const code = wordsOf(name)
    .join('_')
    .toUpperCase()
    .replace(/^(?![A-Z])/, 'A_')
    .slice(0, 40);
  return { code: code.length < 2 ? `${code}_ALARM` : code, text: variable.description || wordsOf(name).join(' '), variable };
}

/** Codes name alarms: a second of the same name gets a number. */
export function unlike(alarms: readonly FoundAlarm[]): readonly FoundAlarm[] {
  const seen = new Map<string, number>();
  return alarms.map((alarm) => {
    const times = (seen.get(alarm.code) ?? 0) + 1;
    seen.set(alarm.code, times);
    return times === 1 ? alarm : { ...alarm, code: `${alarm.code.slice(0, 37)}_${times}` };
  });
}
