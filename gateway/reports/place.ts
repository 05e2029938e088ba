/** What a report must know of the plant beside its numbers. */
import type { PaperSize } from './sheet.ts';

export type ReportPlace = {
  readonly site: string;
  readonly hall: string;
  readonly zone: string;
  readonly units: { readonly pressure: string; readonly flow: string };
  readonly paper: PaperSize;
  /** What the plant calls a chamber. */
  readonly nameOf: (chamber: string) => string;
  /** Of the program, whose definitions the numbers follow. */
  readonly version: string;
  /** The calendar in words: shifts and holidays that were laid over the week. */
  readonly calendar: string;
};

export const NO_SAFETY_FUNCTION = 'Information only: Glowfleet watches and reports, commands nothing and is no safety function.';
