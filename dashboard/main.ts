/** Starts the page: no code is compiled from text at run time (the content policy forbids it), so zod must not try. */
import { mount } from 'svelte';
import * as z from 'zod/mini';
import './page.css';
import App from './App.svelte';

z.config({ jitless: true });

/** A part of the pages is gone because they were built anew meanwhile: the new ones are asked for, but not over and over. */
const RELOAD_EVERY_MS = 30_000;
addEventListener('vite:preloadError', () => {
  const before = Number(sessionStorage.getItem('reloaded') ?? 0);
  if (Date.now() - before < RELOAD_EVERY_MS) return;
  sessionStorage.setItem('reloaded', String(Date.now()));
  location.reload();
});

const target = document.getElementById('app');
if (!target) throw new Error('index.html has no element with id "app"');
mount(App, { target });
