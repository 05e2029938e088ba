/**
 * Ink on a page: text that keeps to its box, lines, rectangles, and what a screen reader needs to know about them (PDF structure). Everything
 * is placed from the top left in points. A text too long for its place ends in an ellipsis; a number never does: it is set smaller, and when
 * even that does not fit, the painter says so in `overflows`, which tests hold empty.
 */
import type PDFDocument from 'pdfkit';
import { INK } from './ink.ts';
import { typeFace, type Run, type TypeFace, type Weight } from './type-face.ts';

type Doc = InstanceType<typeof PDFDocument>;

export type Box = { readonly x: number; readonly y: number; readonly width: number; readonly height: number };
export type Type = {
  readonly size: number;
  readonly weight?: Weight;
  readonly ink?: string;
  readonly align?: 'left' | 'right' | 'center';
  /** A number: never cut. */
  readonly whole?: boolean;
  /** What it is in the document's structure. */
  readonly tag?: string;
};
/** `y` is the baseline. */
export type Place = { readonly x: number; readonly y: number; readonly width: number };

const SMALLEST_SCALE = 0.72;
const ELLIPSIS = '…';
/** Figures of one width, so that columns of numbers align. */
const FEATURES = { features: ['tnum', 'kern', 'liga'] as PDFKit.Mixins.OpenTypeFeatures[] };
/** Half a point over is rounding, not overflow. */
const TOLERANCE = 0.5;
const UNIT = 100;

export class Painter {
  readonly doc: Doc;
  readonly overflows: string[] = [];
  readonly #face: TypeFace;
  readonly #widths = new Map<string, number>();
  #parent: PDFKit.PDFStructureElement;
  /** Inside content that is marked as a whole. */
  #isMarked = false;

  constructor(doc: Doc) {
    this.doc = doc;
    this.#face = typeFace(doc);
    this.#parent = doc.struct('Document');
    doc.addStructure(this.#parent);
  }

  get page(): Box {
    const { width, height } = this.doc.page;
    return { x: 0, y: 0, width, height };
  }

  /** What `draw` paints is one part of the document, such as a section or a table row. */
  part(tag: string, draw: () => void, alt?: string): void {
    const element = this.doc.struct(tag, alt === undefined ? {} : { alt });
    this.#parent.add(element);
    const outer = this.#parent;
    this.#parent = element;
    draw();
    this.#parent = outer;
  }

  /** A drawing with the words that say the same. */
  figure(alt: string, draw: () => void): void {
    this.#marked('Figure', draw, alt);
  }

  width(text: string, type: Pick<Type, 'size' | 'weight'>): number {
    const runs = this.#face.runs(text, type.weight ?? 500);
    return (runs.reduce((sum, run) => sum + this.#runWidth(run), 0) * type.size) / UNIT;
  }

  /** One line. Returns the width it took. */
  line(text: string, place: Place, type: Type): number {
    if (text === '') return 0;
    const fitted = this.#fitted(text, place.width, type);
    const { size } = fitted;
    const taken = this.width(fitted.text, { ...type, size });
    const spare = place.width - taken;
    const left = place.x + (type.align === 'right' ? spare : type.align === 'center' ? spare / 2 : 0);
    this.#marked(type.tag ?? 'P', () => this.#runs(fitted.text, { ...place, x: left }, { ...type, size }));
    return taken;
  }

  /**
   * Words in as many lines as they need, from the top of the box. More than its height holds is cut: with an ellipsis where `mayCut` says that
   * the text is only a foretaste, otherwise it is told as an overflow. Returns the height taken.
   */
  paragraph(text: string, box: Box, type: Type & { readonly leading?: number; readonly mayCut?: boolean }): number {
    const leading = type.leading ?? type.size * 1.22;
    const most = Math.max(1, Math.floor((box.height + TOLERANCE) / leading));
    const lines = this.wrap(text, box.width, type);
    const shown = lines.slice(0, most);
    if (lines.length > most) {
      if (type.mayCut !== true) this.overflows.push(`"${text.slice(0, 60)}" needs ${lines.length} lines and has ${most}`);
      shown[most - 1] = `${shown[most - 1] ?? ''}${ELLIPSIS}`;
    }
    this.#marked(type.tag ?? 'P', () =>
      shown.forEach((line, i) => this.line(line, { x: box.x, y: box.y + type.size * 0.95 + i * leading, width: box.width }, type)),
    );
    return shown.length * leading;
  }

  wrap(text: string, width: number, type: Type): string[] {
    const lines: string[] = [];
    let open = '';
    for (const word of text.split(/ +/)) {
      const longer = open === '' ? word : `${open} ${word}`;
      if (open === '' || this.width(longer, type) <= width) open = longer;
      else {
        lines.push(open);
        open = word;
      }
    }
    return [...lines, open];
  }

  rect({ x, y, width, height }: Box, ink: string): void {
    this.#artifact(() => this.doc.rect(x, y, width, height).fill(ink));
  }

  frame({ x, y, width, height }: Box, ink: string, lineWidth = 0.5): void {
    this.#artifact(() => this.doc.lineWidth(lineWidth).rect(x, y, width, height).stroke(ink));
  }

  /** A level line. */
  rule(x: number, y: number, width: number, { ink = INK.rule, weight = 0.5 }: { ink?: string; weight?: number } = {}): void {
    this.#artifact(() =>
      this.doc
        .lineWidth(weight)
        .moveTo(x, y)
        .lineTo(x + width, y)
        .stroke(ink),
    );
  }

  /** Any drawing that carries no words of its own. */
  draw(paint: (doc: Doc) => void): void {
    this.#artifact(() => {
      this.doc.save();
      paint(this.doc);
      this.doc.restore();
    });
  }

  /** Says that a block does not fit, where the block itself finds out. */
  overflow(what: string): void {
    this.overflows.push(what);
  }

  /** At `UNIT` points: setting letters is the dear part of measuring, and the same words come many times. */
  #runWidth({ font, text }: Run): number {
    const key = `${font} ${text}`;
    const known = this.#widths.get(key) ?? this.doc.font(font).fontSize(UNIT).widthOfString(text, FEATURES);
    this.#widths.set(key, known);
    return known;
  }

  #fitted(text: string, width: number, type: Type): { readonly text: string; readonly size: number } {
    const natural = this.width(text, type);
    if (natural <= width + TOLERANCE) return { text, size: type.size };
    if (type.whole !== true) return { text: this.#cut(text, width, type), size: type.size };
    const scale = Math.max(SMALLEST_SCALE, width / natural);
    if (natural * scale > width + TOLERANCE) this.overflows.push(`"${text}" is wider than its ${Math.round(width)} pt`);
    return { text, size: type.size * scale };
  }

  #cut(text: string, width: number, type: Type): string {
    const letters = [...text];
    let [low, high] = [0, letters.length];
    while (low < high) {
      const middle = Math.ceil((low + high) / 2);
      if (this.width(letters.slice(0, middle).join('').trimEnd() + ELLIPSIS, type) <= width) low = middle;
      else high = middle - 1;
    }
    return letters.slice(0, low).join('').trimEnd() + ELLIPSIS;
  }

  #runs(text: string, { x, y }: Place, type: Type): void {
    let at = x;
    for (const run of this.#face.runs(text, type.weight ?? 500)) {
      this.doc
        .font(run.font)
        .fontSize(type.size)
        .fillColor(type.ink ?? INK.ink);
      this.doc.text(run.text, at, y, { lineBreak: false, baseline: 'alphabetic', ...FEATURES });
      at += (this.#runWidth(run) * type.size) / UNIT;
    }
  }

  #marked(tag: string, draw: () => void, alt?: string): void {
    if (this.#isMarked) return draw();
    const element = this.doc.struct(tag, alt === undefined ? {} : { alt });
    this.#parent.add(element);
    const content = this.doc.markStructureContent(tag);
    this.#isMarked = true;
    draw();
    this.#isMarked = false;
    this.doc.endMarkedContent();
    element.add(content);
  }

  #artifact(draw: () => void): void {
    if (this.#isMarked) return draw();
    this.doc.markContent('Artifact', { type: 'Layout' });
    this.#isMarked = true;
    draw();
    this.#isMarked = false;
    this.doc.endMarkedContent();
  }
}
