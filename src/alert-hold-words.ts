/**
 * The words of an alert about something that goes on for too long.
 * [HW1] The headline says where, what and how long by then; the rule says its number and what time it counts; the cure is a check or a word, never
 *       an order to bypass anything.
 */
import { lengthWords, momentWords, newAlert } from './alert-form.ts';
import type { Hold } from './alert-hold.ts';
import type { Alert } from './contract.ts';
import type { WatchRules } from './watch-rules.ts';
import { MINUTE_MS } from './zone.ts';

type Words = Pick<Alert, 'headline' | 'rule' | 'cure' | 'facts'>;

/** [HW1] */
export function holdAlert(rules: WatchRules, hold: Hold, at: number): Alert {
  const { kind, chamber } = hold;
  const subject = kind === 'stale' ? `${chamber} ${codeOf(hold)}` : chamber;
  return newAlert({ kind, subject, at, chamber, severity: rules.settings[kind].severity, ...wordsOf(rules, hold, at) });
}

/** Of the hold when it is over. */
export function overHeadline({ kind, chamber, since, what }: Hold, at: number): string {
  const length = lengthWords(at - since);
  if (kind === 'down') return `${chamber}: over. Down for ${length}: ${what}.`;
  if (kind === 'waiting') return `${chamber}: over. Fetched after ${length}.`;
  return `${chamber}: over. ${what} stood for ${length}.`;
}

function wordsOf({ settings, calendar: { zone } }: WatchRules, hold: Hold, at: number): Words {
  const { chamber, what, since, firstOut } = hold;
  const sinceFact = { label: 'Since', value: momentWords(since, zone) };
  switch (hold.kind) {
    case 'waiting':
      return {
        headline: `${chamber}: done, and nobody has opened it for ${settings.waiting.longerThanMin} min.`,
        rule: `a finished load waits for ${settings.waiting.longerThanMin} min of scheduled time (alerts.rules.waiting)`,
        cure: 'Unload it, or tell on its page why it waits.',
        facts: [sinceFact],
      };
    case 'stale':
      return {
        headline: `${chamber}: ${what} has stood for ${settings.stale.longerThanH} h.`,
        rule: `an alarm stands for more than ${settings.stale.longerThanH} h observed (alerts.rules.stale; ISA-18.2 calls it stale after 24 h)`,
        cure: 'Clear its cause. If it tells nobody anything, have its limit reviewed, or shelve it at the machine with a reason.',
        facts: [sinceFact],
      };
    default:
      return {
        headline: `${chamber}: down for ${lengthWords(at - since)}: ${what}.`,
        rule: `down for ${settings.down.longerThanMin} min of scheduled time and nobody works on it, or for ${lengthWords(settings.down.repairLongerThanMin * MINUTE_MS)} altogether (alerts.rules.down)`,
        cure: 'Call maintenance if nobody is there, and tell the reason on the chamber’s page.',
        facts: [
          sinceFact,
          { label: 'Cause', value: what },
          ...(firstOut === null
            ? []
            : [{ label: 'First alarm', value: `${firstOut.text} (${firstOut.code}), ${momentWords(firstOut.at, zone)}` }]),
        ],
      };
  }
}

/** The hold says its alarm as `text (CODE)`. */
const codeOf = ({ what }: Hold): string => /\(([^()]*)\)$/.exec(what)?.[1] ?? what;
