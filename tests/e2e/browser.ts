/** The Chromium that the tests drive: the one named in CHROMIUM_PATH, or the system's. */
import { existsSync } from 'node:fs';
import { delimiter, join } from 'node:path';
import { chromium, type Browser } from 'playwright-core';

export function chromiumPath(): string {
  const named = process.env['CHROMIUM_PATH'];
  if (named !== undefined) return named;
  const places = (process.env['PATH'] ?? '').split(delimiter);
  const found = places.flatMap((place) => ['chromium', 'chromium-browser', 'google-chrome'].map((file) => join(place, file)));
  return found.find((file) => existsSync(file)) ?? '/usr/bin/chromium';
}

export const openBrowser = (): Promise<Browser> => chromium.launch({ executablePath: chromiumPath(), args: ['--no-sandbox'] });
