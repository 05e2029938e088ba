/**
 * What changed between two readings of a site file, in words for people.
 * [SD1] Things with a name of their own (server, chamber, template, tag, alarm, shift, route and the like) are matched by it, wherever they stand in
 *       the file; comments, order of keys and what is a default anyway are no change.
 * [SD2] What came is added, what went is removed, and of what stayed each value that differs is told with what it was and what it is.
 * [SD3] An address is told without user, password, path and query: they may hold a secret. One that differs only there says so.
 * [SD4] Another order of the same chambers is told, because screens show them in that order.
 * [SD5] Each sentence is one plain line of bounded length, whatever the file holds.
 */
import { canonical } from './canonical.ts';
import { oneLine } from './inert-text.ts';

export type SiteChange = {
  readonly kind: 'added' | 'removed' | 'changed';
  /** What it is about: `chamber PC-05`, `template drill, tag chamber.pressure`. */
  readonly what: string;
  /** A whole sentence. */
  readonly text: string;
};

type Plain = Readonly<Record<string, unknown>>;
type Place = { readonly words: readonly string[]; readonly keys: readonly string[] };

/** Collections and what one of their members is called. */
const NOUNS: Readonly<Record<string, string>> = {
  servers: 'server',
  chambers: 'chamber',
  templates: 'template',
  tags: 'tag',
  alarms: 'alarm',
  gases: 'gas line',
  shifts: 'shift',
  changes: 'calendar from',
  holidays: 'holiday',
  reasons: 'reason',
  maintenance: 'maintenance',
  positions: 'position',
  routes: 'route',
  rules: 'alert rule',
};
/** By what a member of a list is known. */
const NAMES = ['id', 'name', 'reason', 'date', 'from'] as const;
const LONGEST_VALUE = 80;
const MOST_DETAILS = 5;
const TOP: Place = { words: [], keys: [] };

/** [SD1]-[SD5] Both are site files, checked. */
export function siteDifference(before: object, after: object): readonly SiteChange[] {
  return compared(before, after, TOP);
}

function compared(before: unknown, after: unknown, place: Place): readonly SiteChange[] {
  if (canonical(before) === canonical(after)) return [];
  if (isPlain(before) && isPlain(after)) return membersCompared(before, after, place);
  const lists = namedLists(before, after);
  if (lists !== null) return [...membersCompared(...lists, place), ...orderCompared(...lists, place)];
  return [changed(place, before, after)];
}

/** [SD2] */
function membersCompared(before: Plain, after: Plain, place: Place): readonly SiteChange[] {
  const names = [...new Set([...Object.keys(before), ...Object.keys(after)])];
  return names.flatMap((name) => {
    const inside = within(place, name);
    const [was, is] = [own(before, name), own(after, name)];
    if (was === undefined && is === undefined) return [];
    if (was === undefined) return [added(inside, is)];
    if (is === undefined) return [removed(inside)];
    return compared(was, is, inside);
  });
}

/** [SD4] */
function orderCompared(before: Plain, after: Plain, place: Place): readonly SiteChange[] {
  const [was, is] = [Object.keys(before), Object.keys(after)];
  const stayed = (names: readonly string[]): string => canonical(names.filter((name) => was.includes(name) && is.includes(name)));
  const list = place.keys.at(-1) ?? '';
  if (list !== 'chambers' || stayed(was) === stayed(is)) return [];
  return [{ kind: 'changed', what: list, text: 'The chambers stand in another order.' }];
}

function within({ words, keys }: Place, name: string): Place {
  const noun = own(NOUNS, keys.at(-1) ?? '');
  return noun === undefined ? { words, keys: [...keys, name] } : { words: [...words, `${noun} ${plain(name)}`], keys: [] };
}

function added(place: Place, value: unknown): SiteChange {
  const what = placeText(place);
  if (place.keys.length > 0 && !isPlain(value)) return sentence('added', what, `${what} is now ${valueText(value)}; it was not set`);
  const details = isPlain(value) ? detailsOf(value, what) : [];
  return sentence('added', what, `${what} was added${details.length > 0 ? `: ${details.join(', ')}` : ''}`);
}

const removed = (place: Place): SiteChange => sentence('removed', placeText(place), `${placeText(place)} was taken out`);

function changed(place: Place, before: unknown, after: unknown): SiteChange {
  const what = placeText(place);
  const members = wordLists(before, after);
  if (members !== null) return sentence('changed', what, `${what}: ${members}`);
  const [was, is] = [valueText(before), valueText(after)];
  return sentence(
    'changed',
    what,
    was === is ? `${what}: ${was}, in a part that is not shown here` : `${what} was ${was} and is now ${is}`,
  );
}

/** A list of words is told by what came and what went. */
function wordLists(before: unknown, after: unknown): string | null {
  if (!isWords(before) || !isWords(after)) return null;
  const came = after.filter((word) => !before.includes(word));
  const went = before.filter((word) => !after.includes(word));
  if (came.length === 0 && went.length === 0) return 'another order';
  const parts = [came.length > 0 ? `now also ${wordsText(came)}` : '', went.length > 0 ? `no longer ${wordsText(went)}` : ''];
  return parts.filter(Boolean).join(', ');
}

/** The first plain values of something new. */
function detailsOf(value: Plain, what: string): readonly string[] {
  const scalars = Object.entries(value).filter(([, each]) => typeof each === 'string' || typeof each === 'number' || each === true);
  const telling = scalars.filter(([, each]) => !what.endsWith(` ${String(each)}`));
  return telling.slice(0, MOST_DETAILS).map(([name, each]) => `${plain(name)} ${valueText(each)}`);
}

/** Lists of things with names of their own, as if each stood under its name. Null when they are no such lists. */
function namedLists(before: unknown, after: unknown): [Plain, Plain] | null {
  if (!isThings(before) || !isThings(after)) return null;
  const name = NAMES.find((key) => [before, after].every((list) => hasDistinct(list, key)));
  if (name === undefined) return null;
  const byName = (list: readonly Plain[]): Plain => Object.fromEntries(list.map((each) => [String(each[name]), each]));
  return [byName(before), byName(after)];
}

const hasDistinct = (list: readonly Plain[], key: string): boolean =>
  list.every((each) => typeof each[key] === 'string') && new Set(list.map((each) => each[key])).size === list.length;

/** A site may call a template or a tag `constructor`. */
const own = <T>(from: Readonly<Record<string, T>>, name: string): T | undefined => (Object.hasOwn(from, name) ? from[name] : undefined);

const isPlain = (value: unknown): value is Plain => typeof value === 'object' && value !== null && !Array.isArray(value);
const isThings = (value: unknown): value is readonly Plain[] => Array.isArray(value) && value.every(isPlain);
const isWords = (value: unknown): value is readonly string[] => Array.isArray(value) && value.every((each) => typeof each === 'string');

const placeText = ({ words, keys }: Place): string => [...words, ...(keys.length > 0 ? [plain(keys.join('.'))] : [])].join(', ');

/** [SD3] [SD5] */
function valueText(value: unknown): string {
  if (value === null) return 'taken away';
  if (isWords(value)) return value.length === 0 ? 'none' : wordsText(value);
  if (typeof value === 'object') return Array.isArray(value) ? `a list of ${value.length}` : 'a group';
  return plain(typeof value === 'string' ? withoutSecrets(value) : JSON.stringify(value)) || 'empty';
}

const MOST_WORDS = 6;
const wordsText = (words: readonly string[]): string => {
  const shown = words.slice(0, MOST_WORDS).map((word) => plain(withoutSecrets(word)));
  return words.length > MOST_WORDS ? `${shown.join(', ')} and ${words.length - MOST_WORDS} more` : shown.join(', ');
};

/** [SD3] */
function withoutSecrets(text: string): string {
  const address = /^([a-z][a-z0-9+.-]*):\/\/(?:[^/?#]*@)?([^/?#]*)(.*)$/is.exec(text);
  if (address === null) return text;
  const [, scheme = '', host = '', rest = ''] = address;
  return `${scheme}://${host}${rest.length > 1 ? '/…' : ''}`;
}

/** [SD5] */
const plain = (text: string): string => oneLine(text, LONGEST_VALUE);

function sentence(kind: SiteChange['kind'], what: string, text: string): SiteChange {
  return { kind, what, text: `${text.slice(0, 1).toUpperCase()}${text.slice(1)}.` };
}
