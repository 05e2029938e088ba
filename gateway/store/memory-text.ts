/** As SQLite does it: only a to z have two sizes. */
const small = (text: string): string => text.replace(/[A-Z]/g, (letter) => letter.toLowerCase());
export const hasText = (text: string | null, part: string): boolean => text !== null && small(text).includes(small(part));
