/**
 * The site file's bindings as one flat table: what a server says about a node, and which signals of which chambers that means.
 * The live link and a simulated history read the same table. Node texts have the chamber's path filled in; a condition is
 * `<notifier>#<ConditionName>`; `link:<server>` is the presence of a server.
 * [TM1] `{path}` in a node is the chamber's path; a chamber may replace or, with null, take away a tag of its template.
 * [TM2] A value is scaled and offset in its own unit, then turned into SI with the gas line's reference condition and correction factor.
 * [TM3] NaN, infinity, a wrong type, a text over 200 characters, a count that is no whole number or beyond 2^53, and bad status are null with quality bad.
 * [TM4] One word may carry many alarms and yes-or-no signals by bit; only changed bits are told, all of them at first sight, after a silence, and while or after the
 *       word was not good. A bit that the word's type does not have is bad, and so are all bits of what is no whole number.
 * [TM5] A mode's raw value is put into our words; a value without a word is bad.
 * [TM6] `inverted` turns a boolean around; 0 and 1 are booleans, other numbers are not.
 * [TM7] `link:<server>` tells the presence of every chamber behind that server.
 * [TM8] Quality is the severity of the OPC UA status code: its two top bits (OPC 10000-4, 7.39).
 * [TM9] Alarms, booleans, modes and steps are sampled fast, utilities and hour meters slowly, unless the binding says otherwise.
 * [TM10] A condition tells each of an alarm's sides (signal.ts) when it is told and has changed; a plain yes or no is its activity, and says that it
 *       is neither suppressed nor acknowledged. What the server does not tell is not told.
 * [TM11] A text is one plain line: control characters and those that turn the direction of reading around become a space, ends are trimmed.
 */
import type { SiteFile, AlarmBinding, TagBinding } from './config.ts';
import { Fault } from './fault.ts';
import { oneLine } from './inert-text.ts';
import type { Quality, SignalValue } from './reading.ts';
import { ALARM_SIDES, alarmSignal, alarmSignalOf, SIGNALS } from './signal.ts';
import type { AlarmSide, Signal, SignalKind, SignalName } from './signal.ts';
import { linearFor } from './units.ts';
import type { Unit, UnitContext } from './units.ts';

export const LONGEST_TEXT = 200;

/** A value as it left the server. 64-bit integers beyond 2^53 come as bigint. */
export type RawTagValue = number | boolean | string | bigint | null;
export type Sampling = 'fast' | 'normal' | 'slow';

export type TagTarget = {
  readonly chamber: string;
  readonly signal: Signal;
  /** `<chamber>\t<signal>`, made once. */
  readonly name: string;
  /** The bit of the word that carries this alarm or signal, or null. */
  readonly bit: number | null;
  /** SI value, or undefined when the raw value cannot be this signal's. */
  readonly convert: (raw: RawTagValue) => SignalValue | undefined;
};

export type TagNode = {
  readonly server: string;
  readonly node: string;
  readonly kind: 'value' | 'condition' | 'presence';
  readonly sampling: Sampling;
  /** True when some targets are bits of this node's word. */
  readonly word: boolean;
  readonly targets: readonly TagTarget[];
};

/** The parts of the site file that a table is made of. */
type TagSite = Pick<SiteFile, 'chambers' | 'templates'>;

export type TagTable = ReadonlyMap<string, TagNode>;

/** What a condition says of an alarm; what is left out is not told. */
export type ConditionWord = Readonly<Partial<Record<AlarmSide, SignalValue>>>;

/** The last good word of each node that carries alarms by bit or is a condition; owned by whoever reads a table. */
export type WordMemory = Map<TagNode, bigint | ConditionWord>;

export type EachValue = (target: TagTarget, value: SignalValue, quality: Quality) => void;

/** All nodes of one server, or of the whole site when no server is named (node texts must then differ between servers). */
export function tagTable(site: TagSite, server?: string): TagTable {
  const table = new Map<string, { node: TagNode; targets: TagTarget[] }>();
  const bind = (found: Found, target: TagTarget): void => {
    const known = table.get(found.node);
    if (known) {
      known.targets.push(target);
      const sampling = faster(found.sampling, known.node.sampling) ? found.sampling : known.node.sampling;
      known.node = { ...known.node, sampling, word: known.node.word || target.bit !== null };
      return;
    }
    const targets = [target];
    table.set(found.node, { node: { ...found, word: target.bit !== null, targets }, targets });
  };
  for (const chamber of site.chambers) {
    if (server === undefined || chamber.server === server) bindChamber(site, chamber, bind);
  }
  return new Map([...table].map(([text, { node }]) => [text, node]));
}

type Bind = (found: Found, target: TagTarget) => void;
type Found = Omit<TagNode, 'targets' | 'word'>;
type Chamber = SiteFile['chambers'][number];
type Template = SiteFile['templates'][string];

export function templateOf(site: TagSite, chamber: Chamber): Template {
  const template = site.templates[chamber.template];
  if (!template)
    throw new Fault('invalid', `Chamber ${chamber.id} names the template ${chamber.template}, which the site file does not have.`);
  return template;
}

/** [TM1] */
export const bindingsOf = (template: Template, chamber: Chamber): Readonly<Record<string, TagBinding | null | undefined>> => ({
  ...template.tags,
  ...chamber.tags,
});

function bindChamber(site: TagSite, chamber: Chamber, bind: Bind): void {
  const template = templateOf(site, chamber);
  const base = { server: chamber.server };
  for (const [signal, binding] of Object.entries(bindingsOf(template, chamber))) {
    if (!binding) continue;
    const name = signal as SignalName;
    const found = {
      ...base,
      node: withPath(binding.node, chamber),
      kind: 'value',
      sampling: binding.sampling ?? usualSampling(name),
    } as const;
    bind(found, target(chamber.id, name, binding.bit ?? null, signalConversion(name, binding, template)));
  }
  for (const [code, alarm] of Object.entries(template.alarms)) bindAlarm({ chamber, template, code, alarm }, bind);
  bind(
    { ...base, node: `link:${chamber.server}`, kind: 'presence', sampling: 'fast' },
    target(chamber.id, 'link.alive', null, booleanConversion(false)),
  );
}

function bindAlarm(alarmed: { chamber: Chamber; template: Template; code: string; alarm: AlarmBinding }, bind: Bind): void {
  const { chamber, template, code, alarm } = alarmed;
  const from = alarm.from;
  const bit = 'bit' in from ? from.bit : null;
  const found = {
    server: chamber.server,
    node: alarmNode(alarmed),
    kind: 'condition' in from ? 'condition' : 'value',
    sampling: 'fast',
  } as const;
  if (found.kind === 'condition' && !template.conditions) {
    throw new Fault('invalid', `Alarm ${code} of template ${chamber.template} comes from a condition: name the notifier under conditions.`);
  }
  const bindAs = (signal: Signal): void => bind(found, target(chamber.id, signal, bit, booleanConversion(false)));
  if (found.kind === 'value') bindAs(`alarm.${code}`);
  else for (const side of ALARM_SIDES) bindAs(alarmSignalOf(side, code));
}

function alarmNode({ chamber, template, alarm }: { chamber: Chamber; template: Template; alarm: AlarmBinding }): string {
  const from = alarm.from;
  return 'condition' in from ? `${withPath(template.conditions?.notifier ?? '', chamber)}#${from.condition}` : withPath(from.node, chamber);
}

const withPath = (node: string, chamber: Chamber): string => node.replaceAll('{path}', chamber.path);
const target = (chamber: string, signal: Signal, bit: number | null, convert: TagTarget['convert']): TagTarget => ({
  chamber,
  signal,
  name: `${chamber}\t${signal}`,
  bit,
  convert,
});

const SPEEDS: readonly Sampling[] = ['fast', 'normal', 'slow'];
const faster = (a: Sampling, b: Sampling): boolean => SPEEDS.indexOf(a) < SPEEDS.indexOf(b);

/** [TM9] */
function usualSampling(signal: SignalName): Sampling {
  if (/^(utility|meter)\.|bodyTemperature$/.test(signal)) return 'slow';
  if (SIGNALS[signal].kind === 'boolean') return 'fast';
  return /^(sequence|recipe|load|machine)\./.test(signal) && SIGNALS[signal].kind !== 'analog' ? 'fast' : 'normal';
}

type Convert = TagTarget['convert'];

function signalConversion(signal: SignalName, binding: TagBinding, template: Template): Convert {
  const plain = plainConversion(signal, binding, template);
  const { words } = binding;
  if (!words) return plain;
  return (raw) => {
    const said = String(raw);
    const word = raw !== null && Object.hasOwn(words, said) ? words[said] : undefined;
    return word === undefined ? undefined : ofWord(SIGNALS[signal].kind, word, plain);
  };
}

/** [TM5] The word of the site file, in the type of the signal. */
function ofWord(kind: SignalKind, word: string, plain: Convert): SignalValue | undefined {
  if (kind === 'text') return plain(word);
  return plain(kind === 'boolean' ? (word === 'true' ? true : word === 'false' ? false : null) : Number(word));
}

function plainConversion(signal: SignalName, binding: TagBinding, template: Template): Convert {
  const { kind, unit } = SIGNALS[signal];
  if (kind === 'boolean') return booleanConversion(binding.inverted ?? false);
  if (kind === 'text') return textOf;
  const { gain, bias } = linearFor(unit, (binding.unit ?? unit) as Unit, flowContext(signal, template));
  const scale = (binding.scale ?? 1) * gain;
  const offset = (binding.offset ?? 0) * gain + bias;
  return kind === 'count' ? (raw) => countOf(raw, scale, offset) : (raw) => numberOf(raw, scale, offset);
}

function flowContext(signal: SignalName, template: Template): UnitContext {
  const line = /^gas\.([1-4])\./.exec(signal)?.[1] as '1' | '2' | '3' | '4' | undefined;
  const gas = line && template.gases[line];
  return gas ? { referenceC: gas.referenceC, correctionFactor: gas.correctionFactor, fullScaleSccm: gas.fullScaleSccm } : {};
}

function numberOf(raw: RawTagValue, gain: number, bias: number): number | undefined {
  if (typeof raw !== 'number') return undefined;
  const value = raw * gain + bias;
  return Number.isFinite(value) ? value : undefined;
}

function countOf(raw: RawTagValue, gain: number, bias: number): number | undefined {
  const value = numberOf(raw, gain, bias);
  if (value === undefined) return undefined;
  const whole = Math.round(value);
  // A scale may leave the last bits of a whole number wrong.
  return Number.isSafeInteger(whole) && Math.abs(value - whole) < 1e-6 ? whole : undefined;
}

/** [TM11] */
function textOf(raw: RawTagValue): string | undefined {
  if (raw === null || typeof raw === 'boolean') return undefined;
  const text = String(raw);
  return text.length <= LONGEST_TEXT ? oneLine(text) : undefined;
}

/** [TM6] */
const booleanConversion =
  (inverted: boolean): Convert =>
  (raw) =>
    raw === true || raw === 1 ? !inverted : raw === false || raw === 0 ? inverted : undefined;

/** [TM8] */
export const qualityOf = (statusCode: number): Quality => {
  const severity = statusCode >>> 30;
  return severity === 0 ? 'good' : severity === 1 ? 'uncertain' : 'bad';
};

/**
 * Tells `each` what one value of one node means. An analog value may exceed 2^53; only counts are refused for it. `bits`: how many the value's type
 * has, where that is known.
 */
export function readingsOf(node: TagNode, raw: RawTagValue, quality: Quality, memory: WordMemory, each: EachValue, bits = WIDEST): void {
  if (node.kind === 'condition') return conditionReadings(node, quality === 'bad' ? null : plainCondition(raw), memory, each);
  if (node.word) {
    const word = quality === 'bad' ? undefined : wordOf(raw);
    wordReadings(node, { word, bits: typeof raw === 'boolean' ? 1 : bits, quality }, memory, each);
  }
  for (let i = 0; i < node.targets.length; i++) {
    const found = node.targets[i] as TagTarget;
    if (found.bit !== null) continue;
    const value = quality === 'bad' ? undefined : found.convert(raw);
    if (value === undefined || value === null) each(found, null, 'bad');
    else each(found, value, quality);
  }
}

/** [TM10] */
const plainCondition = (raw: RawTagValue): ConditionWord | null =>
  typeof raw === 'boolean' ? { active: raw, suppressed: false, acknowledged: false } : null;

/** [TM10] Null: what the condition is cannot be known. */
export function conditionReadings(node: TagNode, word: ConditionWord | null, memory: WordMemory, each: EachValue): void {
  const before = memory.get(node);
  const known = typeof before === 'object' ? before : {};
  if (word === null) memory.delete(node);
  else memory.set(node, { ...known, ...word });
  for (const found of node.targets) {
    const side = alarmSignal(found.signal)?.side as AlarmSide;
    if (word === null) each(found, null, 'bad');
    else if (word[side] !== undefined && word[side] !== known[side]) each(found, word[side], 'good');
  }
}

/** [TM4] What was last said is not what is: the next word tells all its bits. */
export function forgetWords(memory: WordMemory, isAbout: (node: TagNode) => boolean = () => true): void {
  for (const [node, word] of memory) if (typeof word === 'bigint' && isAbout(node)) memory.delete(node);
}

/** [TM4] */
function wordReadings(node: TagNode, { word, bits, quality }: Word, memory: WordMemory, each: EachValue): void {
  const before = memory.get(node);
  const isTrusted = word !== undefined && quality === 'good';
  const changed = isTrusted && typeof before === 'bigint' ? before ^ word : -1n;
  const hasAll = node.targets.every(({ bit }) => bit === null || bit < bits);
  if (isTrusted && hasAll) memory.set(node, word);
  else memory.delete(node);
  if (changed === 0n) return;
  for (const found of node.targets) {
    if (found.bit === null) continue;
    const bit = BigInt(found.bit);
    const value = bitOf(word, found, bits);
    if (value === undefined) each(found, null, 'bad');
    else if ((changed >> bit) & 1n) each(found, value, quality);
  }
}

/** What a raw value means to one target, undefined where it cannot be its value: for who looks once, and remembers no word. */
export const valueFor = (target: TagTarget, raw: RawTagValue, bits = WIDEST): SignalValue | undefined =>
  target.bit === null ? target.convert(raw) : bitOf(wordOf(raw), target, typeof raw === 'boolean' ? 1 : bits);

function bitOf(word: bigint | undefined, { bit, convert }: TagTarget, bits: number): SignalValue | undefined {
  return word === undefined || bit === null || bit >= bits ? undefined : convert(((word >> BigInt(bit)) & 1n) === 1n);
}

/** `word`: undefined where it is bad or no whole number. */
type Word = { readonly word: bigint | undefined; readonly bits: number; readonly quality: Quality };

const WIDEST = 64;

function wordOf(raw: RawTagValue): bigint | undefined {
  if (typeof raw === 'boolean') return raw ? 1n : 0n;
  if (typeof raw === 'bigint') return BigInt.asUintN(WIDEST, raw);
  return Number.isSafeInteger(raw) ? BigInt.asUintN(WIDEST, BigInt(raw as number)) : undefined;
}
