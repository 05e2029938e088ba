/** What each ink of a state bar means, with its hours, on one line. */
import { EQUIPMENT_STATES, type EquipmentState } from '../../src/equipment.ts';
import type { StateTimes } from '../../src/numbers.ts';
import { seenMs } from '../../src/seen.ts';
import type { Stretch } from './block.ts';
import { statePiece } from './figures.ts';
import { INK, STATE_INK } from './ink.ts';
import type { Painter } from './painter.ts';
import { hours, stateWord } from './words.ts';

const FIELD = 11;
const LARGEST = 7.8;
const SMALLEST = 6.2;
const LEAST_GAP = 7;

type Entry = { readonly state: EquipmentState; readonly words: string; readonly amount: string };

/** Set as large as the line allows. Returns its height. */
export function stateKey(painter: Painter, { x, y, width }: Stretch, time: StateTimes): number {
  const entries = EQUIPMENT_STATES.map((state) => ({
    state,
    words: `${stateWord(state)} `,
    amount: hours(seenMs(state, time), time[state] < 36e6 ? 1 : 0),
  }));
  const natural = (size: number): number => entries.reduce((sum, entry) => sum + entryWidth(painter, entry, size), 0);
  const room = width - LEAST_GAP * (entries.length - 1);
  let size = LARGEST;
  while (natural(size) > room && size > SMALLEST) size -= 0.1;
  const gap = Math.min(16, (width - natural(size)) / (entries.length - 1));
  if (gap < 2) painter.overflow('the key of the states is wider than its line');
  let left = x;
  for (const entry of entries) {
    paintEntry(painter, entry, { x: left, y, size });
    left += entryWidth(painter, entry, size) + gap;
  }
  return 10;
}

const entryWidth = (painter: Painter, { words, amount }: Entry, size: number): number =>
  FIELD + 3 + painter.width(words, { size }) + painter.width(amount, { size, weight: 600 });

function paintEntry(painter: Painter, { state, words, amount }: Entry, { x, y, size }: { x: number; y: number; size: number }): void {
  const field = { x, y: y + 1.6, width: FIELD, height: 6.6 };
  painter.draw((doc) => statePiece(doc, field, state));
  painter.frame(field, STATE_INK[state].line, 0.4);
  const taken = painter.line(words, { x: x + FIELD + 3, y: y + 7.6, width: 200 }, { size, ink: INK.soft });
  painter.line(amount, { x: x + FIELD + 3 + taken, y: y + 7.6, width: 80 }, { size, weight: 600 });
}
