/**
 * Foreign text made inert: what servers, receivers and makers of certificates wrote, before it stands in a message, a page, a file or a log.
 * [OL1] One line: controls, formats (direction, joiners, marks), line and paragraph separators and halves of surrogate pairs become one space.
 * [OL2] One line of printable Latin letters: all else becomes one space. For what people compare letter by letter, and for files they edit.
 * [OL3] What is too long ends with an ellipsis, no longer than allowed and never with half a letter.
 * [OL4] In HTML the five characters that mean something there are written as what they look like (OWASP's rule for HTML bodies and attributes).
 */

/** [OL1] [OL3] */
export const oneLine = (text: string, most = Infinity): string => cut(text.replaceAll(NOT_PLAIN, ' ').trim(), most);

/** [OL2] [OL3] */
export const latinLine = (text: string, most = Infinity): string => cut(text.replaceAll(NOT_LATIN, ' ').trim(), most);

/** [OL4] */
export const escapedHtml = (text: string): string => text.replaceAll(/[&<>"']/g, (character) => ESCAPES[character] ?? '');

const NOT_PLAIN = /[\p{Cc}\p{Cf}\p{Zl}\p{Zp}\p{Cs}]+/gu;
const NOT_LATIN = /[^\x20-\x7e\u00a0-\u024f]+/g;
const ESCAPES: Readonly<Record<string, string>> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;', "'": '&#39;' };

const cut = (text: string, most: number): string =>
  text.length > most ? `${text.slice(0, Math.max(0, most - 1)).replace(/\p{Cs}$/u, '')}…` : text;
