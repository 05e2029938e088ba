/**
 * Reads the words of a PDF of ours back, as any viewer would: pages by their tree, letters by each font's ToUnicode map (ISO 32000-1 9.10.3).
 * Shares no code with what wrote them; knows only what our writer uses.
 */
import { inflateSync } from 'node:zlib';

export type PdfWord = { readonly x: number; readonly y: number; readonly size: number; readonly text: string };
export type PdfPage = { readonly width: number; readonly height: number; readonly words: readonly PdfWord[] };
export type Pdf = { readonly pages: readonly PdfPage[]; readonly title: string; readonly raw: string };

export function readPdf(bytes: Buffer): Pdf {
  const raw = bytes.toString('latin1');
  const objects = new Map([...raw.matchAll(/(?:^|\n)(\d+) 0 obj\n([\s\S]*?)\nendobj/g)].map((m) => [Number(m[1]), m[2] as string]));
  const of = (ref: number): string => objects.get(ref) ?? '';
  const root = [...objects.values()].find((body) => /\/Type \/Catalog/.test(body)) ?? '';
  const kids = /\/Kids \[([^\]]*)\]/.exec(of(refIn(root, 'Pages')))?.[1] ?? '';
  const title = /<dc:title>[\s\S]*?<rdf:li[^>]*>([^<]*)</.exec(metadata(raw))?.[1] ?? '';
  return { pages: [...kids.matchAll(/(\d+) 0 R/g)].map((m) => pageOf(of(Number(m[1])), of)), title, raw };
}

/** Texts in the order they were painted; those on one line are joined. */
export function linesOf({ words }: PdfPage): string[] {
  const lines: { y: number; x: number; text: string }[] = [];
  for (const { x, y, text } of words) {
    const last = lines.at(-1);
    if (last && Math.abs(last.y - y) < 0.05 && x > last.x) [last.text, last.x] = [`${last.text} | ${text}`, x];
    else lines.push({ y, x, text });
  }
  return lines.map((line) => line.text.replaceAll('\u00a0', ' '));
}

export const textOf = (pdf: Pdf): string => pdf.pages.map((page) => linesOf(page).join('\n')).join('\n\n');

const metadata = (raw: string): string => /<x:xmpmeta[\s\S]*?<\/x:xmpmeta>/.exec(raw)?.[0] ?? '';

const refIn = (body: string, key: string): number => Number(new RegExp(`/${key} (\\d+) 0 R`).exec(body)?.[1] ?? 0);

function streamOf(body: string): string {
  const start = body.indexOf('stream\n') + 7;
  const bytes = Buffer.from(body.slice(start, body.lastIndexOf('\nendstream')), 'latin1');
  return (body.includes('/FlateDecode') ? inflateSync(bytes) : bytes).toString('latin1');
}

function pageOf(body: string, of: (ref: number) => string): PdfPage {
  const [, , width = 0, height = 0] = (/\/MediaBox \[([^\]]*)\]/.exec(body)?.[1] ?? '').split(' ').map(Number);
  const resources = /\/Resources (\d+) 0 R/.test(body) ? of(refIn(body, 'Resources')) : body;
  const fonts = new Map(
    [...(/\/Font <<([\s\S]*?)>>/.exec(resources)?.[1] ?? '').matchAll(/\/(\w+) (\d+) 0 R/g)].map((m) => [
      m[1] as string,
      lettersOf(of(Number(m[2])), of),
    ]),
  );
  return { width, height, words: wordsOf(streamOf(of(refIn(body, 'Contents'))), fonts) };
}

function lettersOf(font: string, of: (ref: number) => string): ReadonlyMap<string, string> {
  const map = streamOf(of(refIn(font, 'ToUnicode')));
  const letters = new Map<string, string>();
  for (const [, low = '', , list = ''] of map.matchAll(/<([0-9a-f]+)> <([0-9a-f]+)> \[([^\]]*)\]/gi))
    // One glyph may stand for several letters: <0066 0069> is fi.
    [...list.matchAll(/<([0-9a-f ]*)>/gi)].forEach((m, i) =>
      letters.set((parseInt(low, 16) + i).toString(16).padStart(4, '0'), utf16((m[1] ?? '').replaceAll(' ', ''))),
    );
  return letters;
}

const utf16 = (hex: string): string => Buffer.from(hex, 'hex').swap16().toString('utf16le');

function wordsOf(stream: string, fonts: ReadonlyMap<string, ReadonlyMap<string, string>>): PdfWord[] {
  const words: PdfWord[] = [];
  let letters: ReadonlyMap<string, string> = new Map();
  let [x, y, size] = [0, 0, 0];
  const pattern = /1 0 0 1 ([\d.-]+) ([\d.-]+) Tm|\/(\w+) ([\d.]+) Tf|\[((?:<[0-9a-f]*> ?-?[\d.]* ?)*)\] TJ/gi;
  for (const [, tx, ty, font, points, shown] of stream.matchAll(pattern)) {
    if (tx !== undefined) [x, y] = [Number(tx), Number(ty)];
    else if (font !== undefined) [letters, size] = [fonts.get(font) ?? new Map<string, string>(), Number(points)];
    else if (shown !== undefined)
      words.push({ x, y, size, text: [...shown.matchAll(/<([0-9a-f]*)>/gi)].map((m) => decoded(m[1] ?? '', letters)).join('') });
  }
  return words;
}

const decoded = (hex: string, letters: ReadonlyMap<string, string>): string =>
  (hex.match(/.{4}/g) ?? []).map((code) => letters.get(code.toLowerCase()) ?? '?').join('');
