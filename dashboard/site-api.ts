/** What the page of links asks about the site file. */
import { siteAnswer, type SiteAnswer } from '../src/site-answer.ts';
import { get } from './api.ts';

export const fetchSite = (): Promise<SiteAnswer> => get('/api/site', siteAnswer);
