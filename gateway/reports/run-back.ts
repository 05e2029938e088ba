/** The second sheet of a run: set points against what was measured, the run beside the last good ones, alarms, and the seal of the record. */
import type { RunBand } from '../../src/run-answer.ts';
import type { MeasuredQuantity, RecordStretch } from '../../src/run-facts.ts';
import { blockHead, column, HEAD_HEIGHT, note, SIZE, SMALL, type Block, type Stretch } from './block.ts';
import { INK } from './ink.ts';
import type { Box, Painter } from './painter.ts';
import type { RunSheet } from './run-front.ts';
import { bandUnit, phaseWords, quantityOf } from './run-words.ts';
import { HEAD, table } from './table.ts';
import { clockSeconds, counted, inUnit, MISSING, percent, seconds, stopwatch, unitSign } from './words.ts';

const GUTTER = 18;
const ROW = 10;
const SEAL_HEIGHT = 44;

export function runBack(painter: Painter, sheet: Box, run: RunSheet): void {
  const rows = stepRows(run.answer.record.stretches);
  const most = Math.floor((sheet.height * 0.56) / ROW);
  let y = sheet.y;
  painter.part('Sect', () => (y += stepTable(painter, { x: sheet.x, y, width: sheet.width }, { rows, most, run }) + 10));
  const width = (sheet.width - GUTTER) / 2;
  const lower = { y, height: sheet.y + sheet.height - SEAL_HEIGHT - 8 - y };
  column(painter, { x: sheet.x, ...lower, width: width + 60 }, [bandsBlock(painter, run)]);
  column(painter, { x: sheet.x + width + 60 + GUTTER, ...lower, width: width - 60 }, [alarmsBlock(painter, run)]);
  painter.part('Sect', () => seal(painter, { x: sheet.x, y: sheet.y + sheet.height - SEAL_HEIGHT, width: sheet.width }, run));
}

type StepRow = { readonly stretch: RecordStretch; readonly quantity: MeasuredQuantity | null; readonly isFirst: boolean };

const stepRows = (stretches: readonly RecordStretch[]): StepRow[] =>
  stretches.flatMap((stretch): StepRow[] =>
    stretch.quantities.length === 0
      ? [{ stretch, quantity: null, isFirst: true }]
      : stretch.quantities.map((quantity, i) => ({ stretch, quantity, isFirst: i === 0 })),
  );

function stepTable(painter: Painter, at: Stretch, { rows, most, run }: { rows: readonly StepRow[]; most: number; run: RunSheet }): number {
  const { answer, place } = run;
  const shown = rows.length > most ? rows.slice(0, most - 1) : rows;
  const quantity = ({ quantity: q }: StepRow) => quantityOf(q?.signal ?? '', answer.gases, place.units);
  const number = (pick: (q: MeasuredQuantity) => number | null) => (row: StepRow) =>
    row.quantity === null ? '' : inUnit(pick(row.quantity), quantity(row).unit);
  const isOut = ({ quantity: q }: StepRow): boolean => (q?.outOfBandMs ?? 0) > 0;
  let y =
    at.y +
    blockHead(
      painter,
      at,
      'Set point against what was measured',
      'mean, min and max: as observed, once settled; out: time outside the band around the set point; a dash: not known',
    );
  y += table<StepRow>(
    painter,
    { ...at, y, row: ROW, size: 7.8 },
    [
      { head: 'phase', width: 58, text: (r) => (r.isFirst ? phaseWords(r.stretch.phase, r.stretch.step) : ''), type: { weight: 700 } },
      {
        head: 'from',
        width: 38,
        text: (r) => (r.isFirst ? clockSeconds(r.stretch.from, place.zone) : ''),
        type: { size: SMALL, ink: INK.soft },
      },
      {
        head: 'time',
        width: 28,
        align: 'right',
        text: (r) => (r.isFirst ? stopwatch(r.stretch.to - r.stretch.from) : ''),
        type: { weight: 600 },
      },
      { head: 'quantity', width: 1, text: (r) => (r.quantity === null ? '' : quantity(r).words) },
      { head: 'unit', width: 30, text: (r) => unitSign(quantity(r).unit), type: { size: SMALL, ink: INK.soft } },
      { head: 'set point', width: 40, align: 'right', text: number((q) => q.setPoint) },
      { head: 'mean', width: 40, align: 'right', text: number((q) => q.mean), type: { weight: 600 } },
      { head: 'min', width: 40, align: 'right', text: number((q) => q.min) },
      { head: 'max', width: 40, align: 'right', text: number((q) => q.max) },
      {
        head: 'out',
        width: 30,
        align: 'right',
        text: (r) => (r.quantity === null ? '' : r.quantity.outOfBandMs === null ? MISSING : seconds(r.quantity.outOfBandMs)),
        type: (r) => (isOut(r) ? { weight: 700, ink: INK.act } : {}),
      },
      {
        head: 'known',
        width: 30,
        align: 'right',
        text: (r) => (r.quantity === null ? '' : percent(r.quantity.knownMs / Math.max(1, r.stretch.to - r.stretch.from))),
        type: { size: SMALL, ink: INK.soft },
      },
    ],
    shown,
  );
  const left = rows.length - shown.length;
  if (left > 0) y += note(painter, { ...at, y }, `and ${counted(left, 'more line')}; all of them are in the record as data`);
  return y - at.y;
}

/** What stands outside its own band first. */
function bandsBlock(painter: Painter, { answer, place }: RunSheet): Block {
  const outside = ({ own }: RunBand): number => (own.inside === false ? 0 : 1);
  const bands = [...answer.bands].sort((a, b) => outside(a) - outside(b));
  const text = ({ unit }: RunBand, si: number | null): string => bandUnit(unit, place.units).text(si);
  const range = (band: RunBand, of: RunBand['own']): string =>
    of.p10 === null || of.p90 === null ? `only ${counted(of.n, 'run')}` : `${text(band, of.p10)} to ${text(band, of.p90)}`;
  const soft = (of: (b: RunBand) => RunBand['own']) => (b: RunBand) =>
    of(b).inside === false ? { size: SMALL, weight: 700 as const } : { size: SMALL, ink: INK.soft };
  const n = Math.max(0, ...bands.map((band) => band.own.n));
  return {
    fixed: HEAD_HEIGHT + HEAD + (bands.length === 0 ? ROW : 0),
    row: ROW,
    least: Math.min(4, bands.length),
    wanted: bands.length,
    paint: (at, rows) => {
      const shown = bands.length > rows ? rows - 1 : rows;
      let y =
        at.y +
        blockHead(painter, at, 'Beside the last good runs of this recipe', n === 0 ? '' : `10 to 90 % of up to ${n} runs; bold: outside`);
      y += table<RunBand>(
        painter,
        { ...at, y, row: ROW, size: SIZE },
        [
          { head: 'figure', width: 1, text: (b) => b.words, type: (b) => ({ weight: b.own.inside === false ? 700 : 500 }) },
          { head: '', width: 26, text: (b) => bandUnit(b.unit, place.units).sign, type: { size: SMALL, ink: INK.soft } },
          { head: 'this run', width: 36, align: 'right', text: (b) => text(b, b.value), type: { weight: 600 } },
          { head: 'this chamber', width: 62, align: 'right', text: (b) => range(b, b.own), type: soft((b) => b.own) },
          { head: 'sister chambers', width: 62, align: 'right', text: (b) => range(b, b.sisters), type: soft((b) => b.sisters) },
        ],
        bands.slice(0, Math.max(0, shown)),
      );
      if (bands.length === 0) y += note(painter, { ...at, y }, 'No run of this recipe is on record to compare with.');
      const left = bands.length - Math.max(0, shown);
      if (left > 0) y += note(painter, { ...at, y }, `and ${counted(left, 'more figure')}; all of them are in the record as data`);
      return y - at.y;
    },
  };
}

function alarmsBlock(painter: Painter, { answer: { record }, place }: RunSheet): Block {
  const { alarms } = record;
  return {
    fixed: HEAD_HEIGHT + (alarms.length === 0 ? ROW : 0),
    row: ROW,
    least: Math.min(3, alarms.length),
    wanted: alarms.length,
    paint: (at, rows) => {
      const shown = alarms.length > rows ? rows - 1 : rows;
      let y = at.y + blockHead(painter, at, 'Alarms during the run');
      y += table<(typeof alarms)[number]>(
        painter,
        { ...at, y, row: ROW, size: SIZE, bare: true },
        [
          { head: '', width: 38, text: (a) => clockSeconds(a.at, place.zone), type: { size: SMALL, ink: INK.soft } },
          { head: '', width: 1, text: (a) => a.text || a.code, type: { weight: 600 } },
          { head: '', width: 32, text: (a) => a.priority, type: { size: SMALL, ink: INK.soft } },
        ],
        alarms.slice(0, Math.max(0, shown)),
      );
      if (alarms.length === 0) y += note(painter, { ...at, y }, record.coverage < 1 ? 'None in the observed part.' : 'None.');
      const left = alarms.length - Math.max(0, shown);
      if (left > 0) y += note(painter, { ...at, y }, `and ${counted(left, 'more alarm')}`);
      return y - at.y;
    },
  };
}

/** Whether the facts are still what they were when the run ended. */
function seal(painter: Painter, { x, y, width }: Stretch, { answer, place }: RunSheet): void {
  const { intact, digest, run, record } = answer;
  const words = intact ? 'Facts unchanged since the run ended.' : 'CHANGED: the stored facts are not those of which this record was made.';
  painter.frame({ x, y, width, height: SEAL_HEIGHT }, intact ? INK.mark : INK.act, intact ? 0.6 : 1.8);
  painter.line(words, { x: x + 8, y: y + 13, width: width - 16 }, { size: 9, weight: 700, ink: intact ? INK.ink : INK.act });
  painter.line(
    `SHA-256 ${digest.match(/.{1,8}/g)?.join(' ') ?? MISSING}`,
    { x: x + 8, y: y + 25, width: width - 16 },
    { size: 7.6, whole: true },
  );
  const made = `Run ${run.run}. Rules of the record: ${record.rules}. Glowfleet ${place.version}. Times of the zone ${place.zone}.`;
  painter.line(made, { x: x + 8, y: y + 36, width: width - 16 }, { size: SMALL, ink: INK.soft });
}
