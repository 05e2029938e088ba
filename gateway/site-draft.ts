/**
 * A site file drafted from what a server showed: one template per kind of chamber, every tag with the reason why it was chosen and its value
 * then. A person goes through it before it is used; what could not be found is said, not guessed.
 */
import { wordsOf, type Candidate, type FoundAlarm, type FoundChamber, type FoundVariable } from '../src/discovery.ts';
import { SIGNALS, type SiUnit } from '../src/signal.ts';
import { isUnit, siUnitOf } from '../src/units.ts';

export type Draft = {
  readonly endpoint: string;
  readonly security: string;
  readonly policy: string;
  readonly chambers: readonly FoundChamber[];
};

/** The file's text. */
export function siteDraft({ endpoint, security, policy, chambers }: Draft): string {
  const kinds = [...Map.groupBy(chambers, shapeOf).values()];
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
    ...kinds.flatMap((alike, i) => alike.map((chamber, n) => place(chamber, { template: `kind-${i + 1}`, column: n + 1, row: i + 1 }))),
  ];
  return `${lines.join('\n')}\n`;
}

/** Chambers with the same tags and alarms share a template. */
const shapeOf = ({ candidates, alarms, conditions, ...chamber }: FoundChamber): string =>
  [
    ...conditions.map(({ name }) => name),
    ...candidates.map(({ signal, variable }) => `${signal} ${nodeOf(variable.node, chamber)}`),
    ...alarms.map(({ code, variable }) => `${code} ${nodeOf(variable.node, chamber)}`),
  ].join('\n');

function template(name: string, alike: readonly FoundChamber[]): string[] {
  const chamber = alike[0] as FoundChamber;
  const { candidates, missing, unused } = chamber;
  return [
    `  ${name}: # ${alike.map((one) => one.name).join(', ')}`,
    `    rfMaxW: ${rangeEnd(candidates, 'rf.forward') ?? 1000} # CHECK: greatest power of the generator`,
    '    basePressurePa: 20 # CHECK: pump-down ends below about three times this',
    `    gases:${gasLines(candidates)}`,
    ...(candidates.some(({ signal }) => signal === 'sequence.phaseCode')
      ? [
          "    # CHECK: what the controller's phase numbers mean; without it phases are recognised from the signals.",
          "    # phases: { '0': idle, '10': pump-down, '30': plasma }",
        ]
      : []),
    '    tags:',
    ...candidates.flatMap((candidate) => tag(candidate, chamber)),
    ...missing.map((signal) => `      # CHECK: nothing found for ${signal}`),
    ...alarmLines(chamber),
    ...(unused.length === 0
      ? []
      : [
          `    # Not used: ${unused
            .slice(0, 40)
            .map(({ path }) => plain(path.slice(chamber.path.length).join('/')))
            .join(', ')}${unused.length > 40 ? ' and more' : ''}`,
        ]),
  ];
}

function tag({ signal, variable, reason, inverted, others }: Candidate, chamber: FoundChamber): string[] {
  const unit = unitFor(signal, variable.unit);
  const words = signal === 'sequence.mode' ? modeWords(variable) : signal === 'machine.itemState' ? ITEM_STATES : null;
  const parts = [
    `node: ${quoted(nodeOf(variable.node, chamber))}`,
    ...(unit === null ? [] : [`unit: ${unit}`]),
    ...(inverted ? ['inverted: true'] : []),
    ...(words === null ? [] : [`words: ${words}`]),
  ];
  const check = (SIGNALS[signal].kind === 'analog' && variable.unit === null) || others.length > 0 || words !== null ? ' CHECK:' : '';
  const or = others.length > 0 ? `; or ${others.map(plain).join(', ')}` : '';
  return [`      ${signal}: { ${parts.join(', ')} } #${check} ${plain(reason)}; now ${plain(variable.value)}${or}`];
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

function alarmLines(chamber: FoundChamber): string[] {
  const { alarms, conditions } = chamber;
  const known = new Set(alarms.map(({ code }) => code));
  const told = conditions.map(({ name }) => ({ name, code: conditionCode(name) })).filter(({ code }) => !known.has(code));
  const lines = [...alarms.map((alarm) => alarmLine(alarm, chamber)), ...told.map(conditionLine)];
  const notifier = conditions[0] === undefined ? [] : [`    conditions: { notifier: ${quoted(nodeOf(conditions[0].notifier, chamber))} }`];
  return lines.length === 0 ? [] : ['    alarms:', ...lines, ...notifier];
}

const conditionCode = (name: string): string =>
  wordsOf(name)
    .join('_')
    .toUpperCase()
    .replace(/^(?![A-Z])/, 'A_')
    .padEnd(2, 'X')
    .slice(0, 40);
const conditionLine = ({ name, code }: { name: string; code: string }): string =>
  `      ${code}: { text: ${quoted(plain(wordsOf(name).join(' ')).slice(0, 80) || code)}, priority: medium, from: { condition: ${quoted(name)} } } # CHECK: text and priority, and effect: stop or down where it ends a run`;

const alarmLine = ({ code, text, variable }: FoundAlarm, chamber: FoundChamber): string =>
  `      ${code}: { text: ${quoted(plain(text).slice(0, 80) || code)}, priority: medium, from: { node: ${quoted(nodeOf(variable.node, chamber))} } } # CHECK: priority, and effect: stop or down where it ends a run`;

function place(chamber: FoundChamber, { template: name, column, row }: { template: string; column: number; row: number }): string {
  const id =
    chamber.name
      .replace(/[^A-Za-z0-9._-]+/g, '-')
      .replace(/^[^A-Za-z0-9]+/, '')
      .slice(0, 32) || `chamber-${column}`;
  return `  - { id: ${quoted(id)}, bay: Bay ${row}, floor: { column: ${column}, row: ${row} }, server: plc-1, template: ${name}, path: ${quoted(chamber.name)} } # CHECK`;
}

/** The chamber's own name in its nodes becomes {path}, so that one template serves all. */
function nodeOf(node: string, { name }: Pick<FoundChamber, 'name'>): string {
  const cut = node.indexOf(';') + 1;
  return node.slice(0, cut) + node.slice(cut).replaceAll(name, '{path}');
}

/** One word for the file, whatever the server said: what JSON escapes, YAML reads the same in double quotes (YAML 1.2, 7.3.1). */
const quoted = (text: string): string => JSON.stringify(text);
const plain = (text: string): string =>
  text
    .replace(/[^\x20-\x7e\u00a0-\u024f]+/g, ' ')
    .replaceAll('#', '')
    .trim();
