/**
 * What the instruments told over a run: panels one under the other on one time axis, the phases behind them. A value holds until the next word
 * of it; where nothing is known the line is broken.
 */
import type { Span } from '../../src/calendar.ts';
import { INK } from './ink.ts';
import type { Box, Painter } from './painter.ts';
import { clock } from './words.ts';

export type PlotLine = {
  readonly label: string;
  readonly ink: string;
  readonly dash?: boolean;
  /** In the panel's unit. */
  readonly at: readonly number[];
  readonly value: readonly (number | null)[];
};
export type Panel = {
  readonly title: string;
  readonly unit: string;
  readonly log: boolean;
  readonly height: number;
  readonly lines: readonly PlotLine[];
};
export type PlotPhase = Span & { readonly words: string; readonly isPlasma: boolean };
export type Plot = { readonly span: Span; readonly zone: string; readonly panels: readonly Panel[]; readonly phases: readonly PlotPhase[] };

const AXIS = 30;
const PHASE_ROW = 11;
export const PANEL_HEAD = 14;
const TIME_ROW = 10;

export const plotHeight = (panels: readonly Panel[]): number =>
  PHASE_ROW + TIME_ROW + panels.reduce((sum, panel) => sum + panel.height + PANEL_HEAD, 0);

export function tracePlot(painter: Painter, at: { readonly x: number; readonly y: number; readonly width: number }, plot: Plot): void {
  const { span } = plot;
  const [left, width] = [at.x + AXIS, at.width - AXIS];
  const x = (time: number): number => left + Math.min(1, Math.max(0, (time - span.from) / (span.to - span.from))) * width;
  phaseNames(painter, at.y, plot, x);
  const ticks = timeTicks(span);
  let y = at.y + PHASE_ROW;
  for (const panel of plot.panels) {
    const box = { x: left, y: y + PANEL_HEAD, width, height: panel.height };
    panelHead(painter, { x: at.x, y, width: at.width }, panel);
    for (const phase of plot.phases) phaseGround(painter, box, phase, x);
    paintPanel(painter, box, panel, { x, ticks });
    y += panel.height + PANEL_HEAD;
  }
  for (const tick of ticks)
    painter.line(clock(tick, plot.zone), { x: x(tick) - 20, y: y + 7.5, width: 40 }, { size: 6.6, ink: INK.soft, align: 'center' });
}

/** Where the name fits. */
function phaseNames(painter: Painter, y: number, { phases }: Plot, x: (time: number) => number): void {
  for (const { from, to, words } of phases) {
    const [start, width] = [x(from), x(to) - x(from)];
    const type = { size: 6.6, ink: INK.soft };
    if (painter.width(words, type) <= width - 2) painter.line(words, { x: start + 1, y: y + 8, width: width - 1 }, type);
  }
}

/** Plasma shaded, a dotted line where a phase begins. */
function phaseGround(painter: Painter, { y, height }: Box, { from, to, isPlasma }: PlotPhase, x: (time: number) => number): void {
  const [start, width] = [x(from), x(to) - x(from)];
  if (isPlasma) painter.draw((doc) => doc.fillOpacity(0.35).rect(start, y, width, height).fill(INK.band));
  painter.draw((doc) =>
    doc
      .lineWidth(0.4)
      .moveTo(start, y)
      .lineTo(start, y + height)
      .dash(1.5, {})
      .stroke(INK.mark),
  );
}

function panelHead(painter: Painter, { x, y, width }: { x: number; y: number; width: number }, { title, unit, lines }: Panel): void {
  let at = x + AXIS + painter.line(title, { x: x + AXIS, y: y + 10.5, width: 120 }, { size: 7.6, weight: 600 }) + 4;
  at += painter.line(unit, { x: at, y: y + 10.5, width: 60 }, { size: 7, ink: INK.soft }) + 12;
  if (lines.length < 2) return;
  for (const { label, ink, dash } of lines) {
    if (dash === true) continue;
    const start = at;
    painter.draw((doc) =>
      doc
        .lineWidth(1.2)
        .moveTo(start, y + 8)
        .lineTo(start + 11, y + 8)
        .stroke(ink),
    );
    at += 13.5 + painter.line(label, { x: at + 13.5, y: y + 10.5, width: Math.max(20, x + width - at - 14) }, { size: 7 }) + 9;
  }
}

type Axis = { readonly x: (time: number) => number; readonly ticks: readonly number[] };

function paintPanel(painter: Painter, box: Box, panel: Panel, { x, ticks }: Axis): void {
  const scale = panel.log ? logScale(panel, box) : plainScale(panel, box);
  for (const { at, label } of scale.ticks) {
    painter.rule(box.x, scale.y(at), box.width, { weight: 0.35 });
    painter.line(
      label,
      { x: box.x - AXIS, y: scale.y(at) + 2.2, width: AXIS - 4 },
      { size: 6.4, ink: INK.soft, align: 'right', whole: true },
    );
  }
  painter.draw((doc) => {
    doc.lineWidth(0.35);
    for (const tick of ticks) doc.moveTo(x(tick), box.y).lineTo(x(tick), box.y + box.height);
    doc.stroke(INK.rule);
    doc.rect(box.x, box.y - 1, box.width, box.height + 2).clip();
    for (const line of panel.lines) stepped(doc, line, { x, y: scale.y });
  });
  painter.frame(box, INK.mark, 0.4);
}

function stepped(
  doc: Painter['doc'],
  { at, value, ink, dash }: PlotLine,
  { x, y }: { x: (t: number) => number; y: (v: number) => number },
): void {
  let held: number | null = null;
  at.forEach((time, i) => {
    const next = value[i] ?? null;
    if (held !== null) doc.lineTo(x(time), y(held));
    if (next !== null) {
      if (held === null) doc.moveTo(x(time), y(next));
      else doc.lineTo(x(time), y(next));
    }
    held = next;
  });
  doc.lineWidth(dash === true ? 0.6 : 0.9);
  if (dash === true) doc.dash(2.5, { space: 2 });
  doc.stroke(ink);
  doc.undash();
}

type Scale = { readonly y: (value: number) => number; readonly ticks: readonly { readonly at: number; readonly label: string }[] };

const known = ({ lines }: Panel): number[] => lines.flatMap(({ value }) => value.filter((v): v is number => v !== null));

function plainScale(panel: Panel, box: Box): Scale {
  const most = Math.max(1e-9, ...known(panel));
  const step = niceStep(most / 3);
  const top = Math.ceil((most * 1.02) / step) * step;
  const ticks = Array.from({ length: Math.round(top / step) + 1 }, (_, i) => i * step);
  return {
    y: (value) => box.y + box.height - (Math.max(0, value) / top) * box.height,
    ticks: ticks.map((at) => ({ at, label: String(Number(at.toPrecision(6))) })),
  };
}

function logScale(panel: Panel, box: Box): Scale {
  const values = known(panel).filter((v) => v > 0);
  const low = Math.floor(Math.log10(Math.min(...values, 1e9)));
  const high = Math.max(low + 1, Math.ceil(Math.log10(Math.max(...values, 1e-9))));
  const [from, to] = values.length === 0 ? [0, 1] : [low, high];
  const ticks = Array.from({ length: to - from + 1 }, (_, i) => 10 ** (from + i));
  const y = (value: number): number => box.y + box.height - ((Math.log10(Math.max(value, 10 ** from)) - from) / (to - from)) * box.height;
  return { y, ticks: ticks.map((at) => ({ at, label: String(Number(at.toPrecision(3))) })) };
}

/** 1, 2 or 5 times a power of ten. */
function niceStep(rough: number): number {
  const power = 10 ** Math.floor(Math.log10(rough));
  return ([1, 2, 5, 10].find((n) => n * power >= rough) ?? 10) * power;
}

const STEPS_MIN = [1, 2, 5, 10, 15, 30, 60, 120, 240, 720, 1440];

/** Whole minutes, about ten of them. */
function timeTicks({ from, to }: Span): number[] {
  const step = (STEPS_MIN.find((minutes) => (to - from) / (minutes * 60_000) <= 12) ?? 1440) * 60_000;
  const ticks: number[] = [];
  for (let at = Math.ceil(from / step) * step; at <= to; at += step) ticks.push(at);
  return ticks;
}
