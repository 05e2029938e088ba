/** The first sheet of a run: what it was, the verdict with what deviated, the instruments' words as a plot, the figures made of them. */
import type { Trace } from '../../src/contract.ts';
import type { RunRecordAnswer } from '../../src/run-answer.ts';
import { fromSi, isUnit, standardLitres } from '../../src/units.ts';
import { blockHead, column, HEAD_HEIGHT, note, ROW, SIZE, SMALL, type Block, type Stretch } from './block.ts';
import { INK, LINE_INKS } from './ink.ts';
import type { Box, Painter } from './painter.ts';
import type { ReportPlace } from './place.ts';
import { wattHours, ofNominal, phaseWords, VERDICT_WORDS } from './run-words.ts';
import { table } from './table.ts';
import { PANEL_HEAD, plotHeight, tracePlot, type Panel, type Plot, type PlotLine } from './trace-plot.ts';
import { clockSeconds, counted, date, day, figures, inUnit, MISSING, percent, seconds, stopwatch, unitSign } from './words.ts';

export type RunSheet = { readonly answer: RunRecordAnswer; readonly place: ReportPlace; readonly trace: Trace };

const GUTTER = 18;
/** The blocks under the plot need so much. */
const LOWER = 200;
const LEAST_PANEL = 62;
const MOST_PANEL = 120;

export function runFront(painter: Painter, sheet: Box, run: RunSheet): void {
  let y = sheet.y;
  const at = (): Stretch => ({ x: sheet.x, y, width: sheet.width });
  painter.part('Sect', () => (y += heading(painter, at(), run) + 8));
  painter.part('Sect', () => (y += deviations(painter, at(), run.answer) + 9));
  const plot = plotOf(run, sheet.y + sheet.height - y - LOWER - HEAD_HEIGHT - 20);
  painter.part('Sect', () => {
    y += blockHead(painter, at(), 'What the instruments told', 'plasma shaded; dashed: set point; a broken line: nobody heard');
    const { span, zone } = plot;
    const alt = `Pressure, RF power and gas flows from ${clockSeconds(span.from, zone)} to ${clockSeconds(span.to, zone)}`;
    painter.figure(alt, () => tracePlot(painter, at(), plot));
    if (!plot.panels.some(({ lines }) => lines.some(({ value }) => value.some((v) => v !== null))))
      painter.line('No values of this run are kept any more.', { ...at(), y: y + 60 }, { size: 10, weight: 600, align: 'center' });
    y += plotHeight(plot.panels) + 10;
  });
  const width = (sheet.width - GUTTER) / 2;
  const lower = { y, width, height: sheet.y + sheet.height - y };
  column(painter, { x: sheet.x, ...lower }, [rfBlock(painter, run), gasBlock(painter, run)]);
  column(painter, { x: sheet.x + width + GUTTER, ...lower }, [vacuumBlock(painter, run), countsBlock(painter, run)]);
}

function heading(painter: Painter, { x, y, width }: Stretch, { answer: { run, verdict }, place }: RunSheet): number {
  const words = VERDICT_WORDS[verdict];
  const type = { size: 13, weight: 700 } as const;
  const boxWidth = painter.width(words, type) + 20;
  const isOut = verdict === 'outside-limits';
  const box = { x: x + width - boxWidth, y: y + 1, width: boxWidth, height: 22 };
  if (isOut) painter.rect(box, INK.act);
  else painter.frame(box, INK.ink, 1.4);
  painter.line('Run record', { x, y: y + 7, width: 200 }, { size: 8.5, weight: 600, ink: INK.soft });
  const title = `${place.nameOf(run.chamber)} · ${run.recipe ?? 'recipe not told'}`;
  painter.line(title, { x, y: y + 26, width: width - boxWidth - 14 }, { size: 20, weight: 700, tag: 'H1' });
  painter.line(words, { x: box.x + 10, y: y + 16.6, width: boxWidth - 18 }, { ...type, ink: isOut ? '#ffffff' : INK.ink });
  const span = `${day(run.startedAt, place.zone)} ${date(run.startedAt, place.zone).slice(-4)}, ${clockSeconds(run.startedAt, place.zone)} to ${clockSeconds(run.endedAt, place.zone)}`;
  const facts = [`load ${run.load ?? 'not told'}`, span, `${stopwatch(run.endedAt - run.startedAt)} min`, run.outcome.replaceAll('-', ' ')];
  if (run.engineering) facts.push('engineering, no product load');
  painter.line(facts.join(' · '), { x, y: y + 40, width: width - 150 }, { size: 9.4 });
  painter.line(`${place.site}, ${place.hall}`, { x: x + width - 145, y: y + 40, width: 145 }, { size: 9.4, weight: 600, align: 'right' });
  painter.rule(x, y + 46, width, { ink: INK.ink, weight: 1.6 });
  return 47;
}

const MOST_DEVIATIONS = 6;

function deviations(painter: Painter, at: Stretch, { record }: RunRecordAnswer): number {
  if (record.deviations.length === 0) {
    const words =
      record.coverage < 1
        ? `No deviation was found in the ${percent(record.coverage)} of the run that was observed.`
        : 'No deviation was found. The whole run was observed.';
    return painter.paragraph(words, { ...at, height: 14 }, { size: 10.5, weight: 600 });
  }
  let y = at.y;
  const shown = record.deviations.slice(0, MOST_DEVIATIONS);
  const from = y;
  for (const { text } of shown) {
    const words = `${text.charAt(0).toUpperCase()}${text.slice(1)}.`;
    y += painter.paragraph(words, { x: at.x + 9, y, width: at.width - 9, height: 24 }, { size: 9.8, weight: 600, mayCut: true }) + 1;
  }
  const left = record.deviations.length - shown.length;
  if (left > 0) y += note(painter, { ...at, x: at.x + 9, y }, `and ${counted(left, 'more deviation')}`);
  painter.rect({ x: at.x, y: from + 1, width: 3, height: y - from - 2 }, INK.act);
  return y - at.y;
}

const POWER_SIGNALS = ['rf.forward', 'rf.forwardSetPoint', 'rf.reflected'] as const;

/** What `plotOf` needs to be told. */
export const tracedSignals = (lines: readonly number[]): string[] => [
  'chamber.pressure',
  ...POWER_SIGNALS,
  ...lines.flatMap((line) => [`gas.${line}.flow`, `gas.${line}.flowSetPoint`]),
];

function plotOf({ answer: { run, gases }, place, trace }: RunSheet, height: number): Plot {
  const { pressure, flow } = place.units;
  const line = (signal: string, unit: string, look: Omit<PlotLine, 'at' | 'value'>): PlotLine => {
    const series = trace.signals.find((one) => one.signal === signal) ?? { at: [], value: [] };
    const value = series.value.map((si) => (si === null || !isUnit(unit) ? si : fromSi(si, unit)));
    return { ...look, at: series.at, value };
  };
  const [first, , third] = LINE_INKS;
  const flows = gases.flatMap((gas, i) => {
    const ink = LINE_INKS[i % LINE_INKS.length] ?? first;
    return [
      line(`gas.${gas.line}.flowSetPoint`, flow, { label: '', ink, dash: true }),
      line(`gas.${gas.line}.flow`, flow, { label: gas.kind, ink }),
    ];
  });
  const power = [
    line('rf.forwardSetPoint', 'W', { label: '', ink: first, dash: true }),
    line('rf.forward', 'W', { label: 'forward', ink: first }),
    line('rf.reflected', 'W', { label: 'reflected', ink: third }),
  ];
  const each = Math.min(MOST_PANEL, Math.max(LEAST_PANEL, (height - plotHeight([])) / 3 - PANEL_HEAD));
  const panels: Panel[] = [
    {
      title: 'Pressure',
      unit: `${unitSign(pressure)}, logarithmic`,
      log: true,
      height: each,
      lines: [line('chamber.pressure', pressure, { label: 'chamber', ink: first })],
    },
    { title: 'RF power', unit: 'W', log: false, height: each, lines: power },
    { title: 'Gas flow', unit: unitSign(flow), log: false, height: each, lines: flows },
  ];
  const phases = run.phases.map(({ phase, step, from, to }) => ({
    from,
    to,
    words: phaseWords(phase, step),
    isPlasma: phase === 'plasma',
  }));
  return { span: { from: run.startedAt, to: run.endedAt }, zone: place.zone, panels, phases };
}

type Fact = { readonly name: string; readonly value: string; readonly words?: string };

/** Names on the left, values on the right, what they mean in soft ink. */
function factsBlock(painter: Painter, title: string, facts: readonly Fact[], said = ''): Block {
  return {
    fixed: HEAD_HEIGHT,
    row: ROW,
    least: facts.length,
    wanted: facts.length,
    paint: (at) => {
      const taken = blockHead(painter, at, title, said);
      const rows = table<Fact>(
        painter,
        { ...at, y: at.y + taken, row: ROW, size: SIZE, bare: true },
        [
          { head: '', width: 76, text: (f) => f.name },
          { head: '', width: 58, align: 'right', text: (f) => f.value, type: { weight: 600 } },
          { head: '', width: 1, text: (f) => f.words ?? '', type: { size: SMALL, ink: INK.soft } },
        ],
        facts,
      );
      return taken + rows;
    },
  };
}

function rfBlock(painter: Painter, { answer: { record: r } }: RunSheet): Block {
  const lost = r.energyJ === null && r.energyKnownJ > 0 ? `of it seen: ${wattHours(r.energyKnownJ)}` : '';
  return factsBlock(
    painter,
    'RF',
    [
      { name: 'delivered energy', value: wattHours(r.energyJ), words: lost || ofNominal(r.energyJ, r.nominalEnergyJ) },
      {
        name: 'reflected fraction',
        value: r.reflectedFraction === null ? MISSING : `${figures(100 * r.reflectedFraction)} %`,
        words: r.vswr === null ? '' : `standing wave ratio ${figures(r.vswr)}`,
      },
      { name: 'ignition delay', value: seconds(r.ignitionDelayMs, 1), words: 'call for RF to plasma' },
      { name: 'plasma went out', value: r.rfDropouts === null ? MISSING : counted(r.rfDropouts, 'time') },
    ],
    'at the generator; no verdict on the surface',
  );
}

const litres = (mol: number): string => `${standardLitres(mol).toFixed(2)} L`;

function gasBlock(painter: Painter, { answer: { record: r } }: RunSheet): Block {
  const stable =
    r.stableBeforeRf === null ? '' : r.stableBeforeRf ? 'every flow in its band by then' : 'not every flow in its band by then';
  const error = (line: number): string => {
    const found = r.flowError.find((one) => one.line === line);
    const zero = r.flowZero.find((one) => one.line === line);
    const parts = [found ? `error ${(100 * found.share).toFixed(1)} %` : '', zero ? `zero ${(100 * zero.share).toFixed(1)} %` : ''].filter(
      (text) => text !== '',
    );
    return parts.length === 0 ? '' : `${parts.join(', ')} of full scale`;
  };
  const facts = [
    { name: 'gas on until RF', value: seconds(r.stabilisationMs), words: stable },
    ...r.gases.map(({ line, kind, mol, knownMol }) => ({
      name: `${kind} in all`,
      value: mol === null ? MISSING : litres(mol),
      words: mol === null ? `of it seen: ${litres(knownMol)}` : error(line),
    })),
  ];
  return factsBlock(painter, 'Gas', facts, 'standard litres at 0 °C');
}

function vacuumBlock(painter: Painter, { answer: { record: r }, place: { units } }: RunSheet): Block {
  const unit = unitSign(units.pressure);
  const pressure = (pa: number | null): string => (pa === null ? MISSING : `${inUnit(pa, units.pressure)} ${unit}`);
  const { firstMs, middleMs, tailMs, totalMs } = r.pumpDown;
  const leak: Fact[] =
    r.rateOfRisePaPerS === null
      ? []
      : [{ name: 'rate of rise', value: `${inUnit(r.rateOfRisePaPerS, units.pressure)} ${unit}/s`, words: 'of the leak test' }];
  return factsBlock(painter, 'Vacuum', [
    { name: 'pump-down', value: seconds(totalMs) },
    { name: '\u00a0\u00a0to 1.9 Torr', value: seconds(firstMs), words: 'pump speed and volume' },
    { name: '\u00a0\u00a01.9 to 0.3 Torr', value: seconds(middleMs), words: 'booster' },
    { name: '\u00a0\u00a0below 0.3 Torr', value: seconds(tailMs), words: 'leak, moisture, outgassing' },
    { name: 'lowest before gas', value: pressure(r.basePressurePa) },
    { name: 'in plasma, median', value: pressure(r.plasmaPressurePa) },
    { name: 'purge', value: seconds(r.purgeMs) },
    { name: 'vent', value: seconds(r.ventMs) },
    ...leak,
  ]);
}

function countsBlock(painter: Painter, { answer: { record: r } }: RunSheet): Block {
  const hours = (ms: number): string => `${(ms / 3_600_000).toFixed(1)} h`;
  return factsBlock(
    painter,
    'Counts of the chamber',
    [
      { name: 'observed of this run', value: percent(r.coverage) },
      { name: 'runs', value: `${r.counts.runs}`, words: 'since it was first watched' },
      { name: 'pump hours', value: hours(r.counts.pumpMs) },
      { name: 'RF hours', value: hours(r.counts.rfMs) },
    ],
    'at the end of this run',
  );
}
