/**
 * A site file drafted from what a server showed: one template per kind of chamber, every tag with the reason why it was chosen and its value
 * then. A person goes through it before it is used; what could not be found is said, not guessed.
 */
import type { Candidate, FoundAlarm, FoundChamber, FoundVariable } from '../src/found.ts';
import { isWordOfBits } from '../src/found-alarms.ts';
import { latinLine } from '../src/inert-text.ts';
import { wordsOf } from '../src/name-words.ts';
import { SIGNALS, type SiUnit } from '../src/signal.ts';
import type { SeenCounts } from '../src/step-counts.ts';
import { stepCountsFound } from '../src/step-counts-found.ts';
import { isUnit, siUnitOf } from '../src/units.ts';
import { pathed, type Pathed } from './site-draft-path.ts';

export type Draft = {
  readonly endpoint: string;
  readonly security: string;
  readonly policy: string;
  readonly chambers: readonly FoundChamber[];
};

const MOST_UNUSED = 150;

/** The file's text. */
export function siteDraft({ endpoint, security, policy, chambers }: Draft): string {
  const kinds = [...Map.groupBy(pathed(chambers), shapeOf).values()];
  const lines = [
    '# A draft, made from what the server showed. Go through every line marked CHECK before you use it, and try it with the check command.',
    '# Nothing was written to the server. Glowfleet only reads; it is no safety function.',
    '',
    'site:',
    '  name: My plant # CHECK',
    '  hall: Hall 1 # CHECK',
    '  zone: Europe/Berlin # CHECK: the time zone in which your shifts are',
    '  units: { pressure: mTorr, flow: sccm }',
    '',
    'calendar: # CHECK: your shifts and holidays. Time in no shift is nonscheduled; with no shifts at all everything is scheduled.',
    '  shifts: []',
    "  #  - { name: Early, days: [mon, tue, wed, thu, fri], from: '06:00', to: '14:00' }",
    '  holidays: []',
    "  #  - { date: '2027-01-01', name: New Year's Day }",
    '',
    'servers:',
    `  - { name: plc-1, endpoint: ${quoted(endpoint)}, security: ${security}${security === 'none' ? '' : `, policy: ${policy}`} }`,
    ...(security === 'none'
      ? ['  # CHECK: no security. Anybody on the way can read and change what is said; choose sign-and-encrypt where the server offers it.']
      : []),
    '',
    'templates:',
    ...kinds.flatMap((alike, i) => template(`kind-${i + 1}`, alike)),
    '',
    'chambers:',
    ...kinds.flatMap((alike, i) => alike.map((one, n) => place(one, { template: `kind-${i + 1}`, column: n + 1, row: i + 1 }))),
  ];
  return `${lines.join('\n')}\n`;
}

/** Chambers with the same tags and alarms share a template. */
const shapeOf = ({ chamber: { candidates, alarms, conditions }, nodeOf }: Pathed): string =>
  [
    ...conditions.map(({ name }) => name),
    ...candidates.map(({ signal, variable }) => `${signal} ${nodeOf(variable.node)}`),
    ...alarms.map(({ code, variable }) => `${code} ${nodeOf(variable.node)}`),
  ].join('\n');

function template(name: string, alike: readonly Pathed[]): string[] {
  const first = alike[0] as Pathed;
  const { candidates, missing } = first.chamber;
  return [
    `  ${name}: # ${alike.map(({ chamber }) => plain(chamber.name)).join(', ')}`,
    `    rfMaxW: ${rangeEnd(candidates, 'rf.forward') ?? 1000} # CHECK: greatest power of the generator`,
    '    basePressurePa: 20 # CHECK: pump-down ends below about three times this',
    `    gases:${gasLines(candidates)}`,
    ...(candidates.some(({ signal }) => signal === 'sequence.phaseCode')
      ? [
          "    # CHECK: what the controller's phase numbers mean; without it phases are recognised from the signals.",
          "    # phases: { '0': idle, '10': pump-down, '30': plasma }",
        ]
      : []),
    ...(alike.some(({ chamber, path }) => path !== chamber.name)
      ? ['    # {path} stands for what differs between the nodes of these chambers; it is their path, below.']
      : []),
    '    tags:',
    ...candidates.flatMap((candidate) => tag(candidate, first, stepCountsFound(candidates))),
    ...missing.map((signal) => `      # CHECK: nothing found for ${signal}; look among the lines not used, below`),
    ...alarmLines(first),
    ...alarmWordLines(first),
    ...unusedLines(first),
  ];
}

function tag({ signal, variable, reason, inverted, others }: Candidate, { nodeOf }: Pathed, seen: SeenCounts | null): string[] {
  const isStep = signal === 'recipe.step';
  const unit = unitFor(signal, variable.unit);
  const words = signal === 'sequence.mode' ? modeWords(variable) : signal === 'machine.itemState' ? ITEM_STATES : null;
  const parts = [
    `node: ${quoted(nodeOf(variable.node))}`,
    ...(unit === null ? [] : [`unit: ${unit}`]),
    ...(inverted ? ['inverted: true'] : []),
    ...(words === null ? [] : [`words: ${words}`]),
    ...(isStep && seen !== null ? [`counts: ${seen.counts}`] : []),
  ];
  const isUnitUnsure = SIGNALS[signal].kind === 'analog' && (variable.unit === null || variable.isUnitFromDescription === true);
  const isUnsure =
    isStep || isUnitUnsure || inverted || others.length > 0 || words !== null || variable.unread !== undefined || variable.value === 'NaN';
  const or = others.length > 0 ? `; or ${others.map(plain).join(', ')}` : '';
  const only = isStep ? `; ${countsWords(seen)}` : '';
  return [`      ${signal}: { ${parts.join(', ')} } #${isUnsure ? ' CHECK:' : ''} ${plain(reason)}; ${shown(variable)}${or}${only}`];
}

function countsWords(seen: SeenCounts | null): string {
  const kinds =
    'plasma-steps where it counts the steps of the plasma alone, all-steps where it counts the whole sequence or never begins anew';
  if (seen === null) return `add counts: ${kinds}; without it no run is told aborted by this number`;
  return `counts: ${seen.counts} because ${seen.reason}; it is ${kinds}`;
}

/** Its value then, and what the server itself says of it. */
const shown = ({ value, type, description }: FoundVariable): string =>
  [`now ${plain(type === 'number' ? short(value) : value)}`, ...(plain(description) === '' ? [] : [`"${plain(description)}"`])].join(', ');
const short = (value: string): string => (Number.isFinite(Number(value)) ? String(Number(Number(value).toPrecision(5))) : value);

/** What is left over, ready to be bound by hand: the place, the node, the type and the value. */
function unusedLines({ chamber, nodeOf }: Pathed): string[] {
  const { unused, path } = chamber;
  if (unused.length === 0) return [];
  const lines = unused.slice(0, MOST_UNUSED).map((variable) => {
    const unit = variable.unitText === null ? '' : ` ${plain(variable.unitText)}`;
    return `    #   ${plain(variable.path.slice(path.length).join('/'))}: { node: ${quoted(nodeOf(variable.node))}${isWordOfBits(variable) ? ', bit: 0' : ''} } ${variable.type}${unit}, ${shown(variable)}`;
  });
  const more = unused.length > MOST_UNUSED ? [`    #   and ${unused.length - MOST_UNUSED} more`] : [];
  const words = unused.some(isWordOfBits)
    ? [
        '    # Numbers with bit: 0 look like words whose bits are doors, valves and switches. Bind each bit that is one; its meaning only the machine’s book tells.',
      ]
    : [];
  return ['    # Not used. To bind one, write its node beside the name of the signal under tags:', ...words, ...lines, ...more];
}

/** A bit without its meaning would be an alarm without its name: a line to be filled in, not an alarm. */
function alarmWordLines({ chamber, nodeOf }: Pathed): string[] {
  if (chamber.alarmWords.length === 0) return [];
  return [
    `    # CHECK: these numbers look like words of alarm bits. Name each bit that matters, under alarms:`,
    ...chamber.alarmWords.map((variable) => {
      const code = codeOf(variable.path.at(-1) ?? '').slice(0, 32);
      const from = `from: { node: ${quoted(nodeOf(variable.node))}, bit: 0 }`;
      return `    #   ${code}_BIT_0: { text: "...", priority: medium, ${from} } # ${shown(variable)}`;
    }),
  ];
}

/** The item states of OPC 40001-1; a server that speaks another language shows them in it. */
const ITEM_STATES = '{ Executing: executing, NotExecuting: not-executing, OutOfService: out-of-service, NotAvailable: not-available }';

/** The operation modes of OPC 40001-1 have names of their own; a number's meaning only the machine's book tells. */
function modeWords({ type, path }: FoundVariable): string | null {
  if (type === 'integer') return "{ '1': auto, '2': manual, '3': maintenance }";
  const isMachinery = path.includes('MachineryOperationMode') && path.at(-1) === 'CurrentState';
  return isMachinery ? '{ Processing: auto, None: auto, Setup: manual, Maintenance: maintenance }' : null;
}

/** In the signal's own SI unit where the server names none: wrong for most, and marked. */
function unitFor(signal: Candidate['signal'], unit: string | null): string | null {
  const { kind, unit: si } = SIGNALS[signal] as { kind: string; unit: SiUnit };
  if (kind !== 'analog' || si === '1') return unit === 'percent' ? 'percent' : null;
  if (unit !== null && isUnit(unit) && siUnitOf(unit) === si) return unit;
  return si === 'mol/s' ? (unit === 'percent' ? 'percent-of-full-scale' : 'sccm') : si === 'm3/s' ? 'L/min' : si;
}

function gasLines(candidates: readonly Candidate[]): string {
  const lines = candidates.flatMap(({ signal, variable }) => {
    const line = /^gas\.([1-4])\.flow$/.exec(signal)?.[1];
    if (line === undefined) return [];
    const [, high] = variable.range ?? [0, 1000];
    const kind = /\b(O2|N2|Ar|CF4|He|H2|NF3|SF6|CHF3|CO2)\b/i.exec(variable.description)?.[1] ?? 'unknown';
    const scale = variable.unit === 'sccm' && variable.range ? high : variable.unit === 'slm' && variable.range ? high * 1000 : 1000;
    return [
      `      '${line}': { kind: ${kind}, fullScaleSccm: ${scale} } # CHECK: gas, full scale and correction factor from the instrument's label`,
    ];
  });
  return lines.length === 0 ? ' {}' : `\n${lines.join('\n')}`;
}

function rangeEnd(candidates: readonly Candidate[], signal: string): number | null {
  return candidates.find((candidate) => candidate.signal === signal)?.variable.range?.[1] ?? null;
}

function alarmLines(one: Pathed): string[] {
  const { alarms, conditions } = one.chamber;
  const known = new Set(alarms.map(({ code }) => code));
  const told = conditions.map(({ name }) => ({ name, code: codeOf(name) })).filter(({ code }) => !known.has(code));
  const lines = [...alarms.map((alarm) => alarmLine(alarm, one)), ...told.map(conditionLine)];
  const notifier = conditions[0] === undefined ? [] : [`    conditions: { notifier: ${quoted(one.nodeOf(conditions[0].notifier))} }`];
  return lines.length === 0 ? [] : ['    alarms:', ...lines, ...notifier];
}

const codeOf = (name: string): string =>
  wordsOf(name)
    .join('_')
    .toUpperCase()
    .replace(/^(?![A-Z])/, 'A_')
    .padEnd(2, 'X')
    .slice(0, 40);
const conditionLine = ({ name, code }: { name: string; code: string }): string =>
  `      ${code}: { text: ${quoted(plain(wordsOf(name).join(' ')).slice(0, 80) || code)}, priority: medium, from: { condition: ${quoted(name)} } } # CHECK: text and priority, and effect: stop or down where it ends a run`;

const alarmLine = ({ code, text, variable }: FoundAlarm, { nodeOf }: Pathed): string =>
  `      ${code}: { text: ${quoted(plain(text).slice(0, 80) || code)}, priority: medium, from: { node: ${quoted(nodeOf(variable.node))} } } # CHECK: priority, and effect: stop or down where it ends a run`;

function place({ chamber, path }: Pathed, { template: name, column, row }: { template: string; column: number; row: number }): string {
  const id =
    chamber.name
      .replace(/[^A-Za-z0-9._-]+/g, '-')
      .replace(/^[^A-Za-z0-9]+/, '')
      .slice(0, 32) || `chamber-${column}`;
  return `  - { id: ${quoted(id)}, bay: Bay ${row}, floor: { column: ${column}, row: ${row} }, server: plc-1, template: ${name}, path: ${quoted(path)} } # CHECK`;
}

/** One word for the file, whatever the server said: what JSON escapes, YAML reads the same in double quotes (YAML 1.2, 7.3.1). */
const quoted = (text: string): string => JSON.stringify(text);
const plain = (text: string): string => latinLine(text.replaceAll('#', ''));
