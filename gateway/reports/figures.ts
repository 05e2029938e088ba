/** Small drawings inside a sheet: equipment time as a bar, a share with its bounds, weeks as a line, a spread. Gaps stay gaps. */
import { EQUIPMENT_STATES, type EquipmentState } from '../../src/equipment.ts';
import type { Share, Spread, StateTimes } from '../../src/numbers.ts';
import type { WeekMark } from '../../src/week-marks.ts';
import { INK, STATE_INK } from './ink.ts';
import type { Box, Painter } from './painter.ts';
import { percent } from './words.ts';

type Doc = Painter['doc'];

/** Equipment time by state, side by side, from worked to unseen. */
export function stateBar(painter: Painter, box: Box, time: StateTimes): void {
  const total = EQUIPMENT_STATES.reduce((sum, state) => sum + time[state], 0);
  let x = box.x;
  for (const state of EQUIPMENT_STATES) {
    const width = total === 0 ? 0 : (time[state] / total) * box.width;
    if (width > 0) painter.draw((doc) => statePiece(doc, { ...box, x, width }, state));
    x += width;
  }
  painter.frame(box, INK.mark, 0.4);
}

/** A field in the ink of a state. */
export function statePiece(doc: Doc, box: Box, state: EquipmentState): void {
  const { ground, line, pattern } = STATE_INK[state];
  doc.rect(box.x, box.y, box.width, box.height).fill(ground);
  if (pattern === 'plain' || pattern === 'empty') return;
  doc.rect(box.x, box.y, box.width, box.height).clip();
  if (pattern === 'dots') return dots(doc, box, line);
  doc.lineWidth(pattern === 'rising' ? 0.7 : 0.45);
  if (pattern !== 'falling') hatch(doc, box, { ink: line, slope: -1 });
  if (pattern !== 'rising') hatch(doc, box, { ink: line, slope: 1 });
}

const STEP = 3;

function hatch(doc: Doc, { x, y, width, height }: Box, { ink, slope }: { ink: string; slope: 1 | -1 }): void {
  for (let at = x - height; at < x + width; at += STEP) {
    if (slope === 1) doc.moveTo(at, y).lineTo(at + height, y + height);
    else doc.moveTo(at, y + height).lineTo(at + height, y);
  }
  doc.stroke(ink);
}

function dots(doc: Doc, { x, y, width, height }: Box, ink: string): void {
  for (let row = 0; row * 2 < height; row++)
    for (let at = x + (row % 2) * 2 + 0.8; at < x + width; at += 4) doc.circle(at, y + 1.2 + row * 2, 0.55);
  doc.fill(ink);
}

/** A share as a point on 0..100 %, the band it may lie in given unseen time, and a tick where it usually is. */
export function boundsBar(painter: Painter, box: Box, { value, low, high }: Share, usual: number | null): void {
  const middle = box.y + box.height / 2;
  const at = (share: number): number => box.x + Math.min(1, Math.max(0, share)) * box.width;
  painter.draw((doc) => {
    doc
      .lineWidth(0.5)
      .moveTo(box.x, middle)
      .lineTo(box.x + box.width, middle)
      .stroke(INK.rule);
    for (const end of [0, 0.5, 1]) doc.moveTo(at(end), middle - 1.5).lineTo(at(end), middle + 1.5);
    doc.stroke(INK.rule);
    if (low !== null && high !== null)
      doc.rect(at(low), middle - box.height * 0.28, Math.max(0.6, at(high) - at(low)), box.height * 0.56).fill(INK.band);
    if (usual !== null)
      doc
        .lineWidth(0.9)
        .moveTo(at(usual), box.y + 0.6)
        .lineTo(at(usual), box.y + box.height - 0.6)
        .stroke(INK.ink);
    if (value !== null) doc.circle(at(value), middle, Math.min(2.1, box.height * 0.3)).fill(INK.glow);
  });
}

type Range = { readonly low: number; readonly high: number };
type WeekLine = { readonly marks: readonly WeekMark[]; readonly range: Range; readonly named: boolean };

/** For small lines beside each other: one range for all, from the least value to the largest. */
export function lineRange(marks: readonly WeekMark[]): Range {
  const values = marks.flatMap(({ value }) => (value === null ? [] : [value]));
  if (values.length === 0) return { low: 0, high: 1 };
  return { low: Math.max(0, Math.min(...values) - 0.03), high: Math.min(1, Math.max(...values) + 0.03) };
}

/** The band is what each week may have been given unseen time, the mark what was observed, this week's mark the large one. */
export function weekLine(painter: Painter, box: Box, { marks, range, named }: WeekLine): void {
  const floor = box.y + box.height - (named ? 10 : 1);
  const rise = floor - box.y - (named ? 5 : 2);
  const step = (box.width - (named ? 18 : 0)) / Math.max(1, marks.length);
  const x = (i: number): number => box.x + (named ? 18 : 0) + (i + 0.5) * step;
  const inside = (share: number): number => Math.min(range.high, Math.max(range.low, share));
  const y = (share: number): number => floor - ((inside(share) - range.low) / (range.high - range.low)) * rise;
  for (const g of named ? [0, 0.25, 0.5, 0.75, 1].filter((grid) => grid <= range.high) : []) {
    painter.rule(box.x + (named ? 18 : 0), y(g), box.width - (named ? 18 : 0));
    if (named) painter.line(percent(g), { x: box.x, y: y(g) + 2.2, width: 16 }, { size: 6.5, ink: INK.soft, align: 'right' });
  }
  painter.draw((doc) => {
    for (const [i, { low, high }] of marks.entries())
      if (low !== null && high !== null) doc.rect(x(i) - step * 0.3, y(high), step * 0.6, Math.max(0.6, y(low) - y(high))).fill(INK.band);
    doc.lineWidth(named ? 1.1 : 0.7);
    marks.forEach(({ value }, i) => {
      const before = marks[i - 1]?.value ?? null;
      if (value !== null && before !== null)
        doc
          .moveTo(x(i - 1), y(before))
          .lineTo(x(i), y(value))
          .stroke(INK.glow);
    });
    marks.forEach(({ value, isThis }, i) => {
      if (value !== null) doc.circle(x(i), y(value), (isThis ? 2.6 : 1.3) * (named ? 1 : 0.6)).fill(INK.glow);
    });
  });
  if (named) weekNames(painter, marks, { x, y: box.y + box.height - 1.5, step });
}

function weekNames(painter: Painter, marks: readonly WeekMark[], at: { x: (i: number) => number; y: number; step: number }): void {
  marks.forEach(({ week, isThis }, i) =>
    painter.line(
      week.slice(5),
      { x: at.x(i) - at.step / 2, y: at.y, width: at.step },
      { size: 6.8, align: 'center', weight: isThis ? 700 : 500, ink: isThis ? INK.ink : INK.soft },
    ),
  );
}

/** From the 10 % to the 90 % point, with the median. */
export function spreadBar(painter: Painter, box: Box, spread: Spread | null, axisMs: number): void {
  if (spread === null) return;
  const at = (ms: number): number => box.x + (Math.min(axisMs, ms) / axisMs) * box.width;
  const middle = box.y + box.height / 2;
  painter.draw((doc) => {
    doc.rect(at(spread.p10), middle - 1.1, Math.max(0.5, at(spread.p90) - at(spread.p10)), 2.2).fill(INK.glow);
    doc.rect(at(spread.p50) - 0.7, middle - 3, 1.4, 6).fill(INK.ink);
  });
}

/** A level bar; `part` 0..1 of the box. */
export function lengthBar(painter: Painter, box: Box, { part, state }: { part: number; state: EquipmentState }): void {
  const width = Math.max(0.5, box.width * Math.min(1, part));
  painter.draw((doc) => {
    if (state === 'standby') doc.rect(box.x, box.y, width, box.height).fill(INK.loss);
    else statePiece(doc, { ...box, width }, state);
  });
}
