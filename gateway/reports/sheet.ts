/**
 * A paper of sheets: its size, margins, title, language, the foot with page numbers, and bytes that are the same for the same content (its date
 * is that of the numbers, never of the printing).
 */
import PDFDocument from 'pdfkit';
import { INK } from './ink.ts';
import { Painter, type Box } from './painter.ts';
import { inert } from './type-face.ts';

export const PAPERS = { a4: [595.28, 841.89], letter: [612, 792] } as const;
export type PaperSize = keyof typeof PAPERS;

export type PaperWords = {
  readonly title: string;
  readonly subject: string;
  /** Stands at the foot of every sheet. */
  readonly foot: string;
  /** When the numbers were made. */
  readonly at: number;
  readonly size: PaperSize;
};

export type Written = { readonly bytes: Buffer; readonly pages: number; readonly overflows: readonly string[] };

const MARGIN = { side: 34, top: 30, bottom: 30 } as const;

export class Sheets {
  readonly painter: Painter;
  readonly #doc: InstanceType<typeof PDFDocument>;
  readonly #words: PaperWords;
  readonly #bytes: Promise<Buffer>;
  #pages = 0;

  constructor(words: PaperWords) {
    this.#words = words;
    const at = new Date(words.at);
    this.#doc = new PDFDocument({
      size: [...PAPERS[words.size]],
      margin: 0,
      autoFirstPage: false,
      bufferPages: true,
      pdfVersion: '1.7',
      tagged: true,
      lang: 'en-GB',
      displayTitle: true,
      info: {
        Title: inXml(words.title),
        Subject: inXml(words.subject),
        Author: 'Glowfleet',
        Creator: 'Glowfleet',
        CreationDate: at,
        ModDate: at,
      },
    });
    this.#bytes = collected(this.#doc);
    this.painter = new Painter(this.#doc);
  }

  /** A new sheet; returns what may be painted on. */
  page(): Box {
    this.#doc.addPage();
    this.#pages += 1;
    const { width, height } = this.painter.page;
    return { x: MARGIN.side, y: MARGIN.top, width: width - 2 * MARGIN.side, height: height - MARGIN.top - MARGIN.bottom };
  }

  async end(): Promise<Written> {
    for (let page = 0; page < this.#pages; page++) {
      this.#doc.switchToPage(page);
      this.#foot(page + 1);
    }
    this.#doc.end();
    return { bytes: await this.#bytes, pages: this.#pages, overflows: this.painter.overflows };
  }

  #foot(page: number): void {
    const { width, height } = this.painter.page;
    const y = height - 16;
    const type = { size: 6.8, ink: INK.soft };
    const inner = width - 2 * MARGIN.side;
    this.painter.line(this.#words.foot, { x: MARGIN.side, y, width: inner - 60 }, type);
    this.painter.line(`${page} of ${this.#pages}`, { x: MARGIN.side + inner - 50, y, width: 50 }, { ...type, align: 'right', whole: true });
  }
}

/** The library writes titles into the file's XML unescaped. */
const inXml = (text: string): string => inert(text.replaceAll(/[<>&]/g, ' '));

async function collected(doc: InstanceType<typeof PDFDocument>): Promise<Buffer> {
  const parts: Buffer[] = [];
  for await (const part of doc as unknown as AsyncIterable<Buffer>) parts.push(part);
  return Buffer.concat(parts);
}
