/**
 * The letters of a report: one family, embedded, so that a sheet looks the same everywhere. The family comes in parts by alphabet; text is
 * cut into runs by which part holds the letter, and a letter that no part holds becomes a visible box mark. Text comes from servers and is
 * hostile: control and direction-changing characters never reach the page.
 */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type PDFDocument from 'pdfkit';
import { unpackedWoff } from './woff.ts';

export const WEIGHTS = [500, 600, 700] as const;
export type Weight = (typeof WEIGHTS)[number];

/** Before the first use each part is only a name. */
const PARTS = ['latin', 'latin-ext', 'vietnamese'] as const;
type Part = (typeof PARTS)[number];

/** In place of a letter that the family does not have. */
const UNKNOWN = '¤';
const LONGEST_TEXT = 2_000;
/** Signs of the trade that the family lacks, and what is read alike. */
const ALIKE: Readonly<Record<string, string>> = { '≤': '<=', '≥': '>=', Ω: 'ohm', '→': '>', '\u202f': '\u00a0', '\u2009': ' ' };

export type Run = { readonly font: string; readonly text: string };
export type TypeFace = { readonly runs: (text: string, weight: Weight) => readonly Run[] };

const resolve = createRequire(import.meta.url).resolve;
const fontFile = (part: Part, weight: Weight): string =>
  resolve(`@fontsource/barlow-semi-condensed/files/barlow-semi-condensed-${part}-${weight}-normal.woff`);

const files = new Map<string, Buffer>();
function fontBytes(part: Part, weight: Weight): Buffer {
  const path = fontFile(part, weight);
  const known = files.get(path) ?? unpackedWoff(readFileSync(path));
  files.set(path, known);
  return known;
}

const nameOf = (part: Part, weight: Weight): string => `${part}-${weight}`;

/** Registers the family with a document; a part is embedded only when a letter of it was set. */
export function typeFace(doc: InstanceType<typeof PDFDocument>): TypeFace {
  for (const part of PARTS) for (const weight of WEIGHTS) doc.registerFont(nameOf(part, weight), fontBytes(part, weight));
  const holders = new Map<string, Part | null>();
  const holder = (letter: string, weight: Weight): Part | null => {
    const known = holders.get(letter);
    if (known !== undefined) return known;
    const found = PARTS.find((part) => hasLetter(doc, nameOf(part, weight), letter)) ?? null;
    holders.set(letter, found);
    return found;
  };
  return {
    runs: (text, weight) => {
      const runs: { font: string; text: string }[] = [];
      for (const letter of inert(text)) {
        const part = holder(letter, weight);
        const font = nameOf(part ?? 'latin', weight);
        const last = runs.at(-1);
        if (last?.font === font) last.text += part === null ? UNKNOWN : letter;
        else runs.push({ font, text: part === null ? UNKNOWN : letter });
      }
      return runs;
    },
  };
}

/** One line without control or direction-changing characters, of bearable length. */
export function inert(text: string): string {
  const flat = text
    .slice(0, LONGEST_TEXT)
    .toWellFormed()
    .normalize('NFC')
    .replaceAll(/[\p{Cc}\p{Zl}\p{Zp}]+/gu, ' ')
    .replaceAll(/\p{Cf}/gu, '')
    .replaceAll(/ {2,}/g, ' ');
  return [...flat].map((letter) => ALIKE[letter] ?? letter).join('');
}

type Embedded = { readonly font: { hasGlyphForCodePoint(codePoint: number): boolean } };

function hasLetter(doc: InstanceType<typeof PDFDocument>, font: string, letter: string): boolean {
  doc.font(font);
  const { font: letters } = (doc as unknown as { _font: Embedded })._font;
  return letters.hasGlyphForCodePoint(letter.codePointAt(0) ?? 0);
}
