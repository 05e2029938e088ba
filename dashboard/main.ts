/** Starts the page: no code is compiled from text at run time (the content policy forbids it), so zod must not try. */
import { mount } from 'svelte';
import * as z from 'zod/mini';
import './page.css';
import App from './App.svelte';

z.config({ jitless: true });

const target = document.getElementById('app');
if (!target) throw new Error('index.html has no element with id "app"');
mount(App, { target });
