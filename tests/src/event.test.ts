import { expect, test } from 'vitest';
import { chamberEvent, eventId } from '../../src/event.ts';
import { eventsOf, runWith, taggedRun } from './story.ts';

test('[EV1] the same story told again gives the same identities, and no two facts of it share one', () => {
  for (const story of [runWith('alarm.RF_FAULT false@0:00 true@20:00 false@30:00'), taggedRun('silence 20:00..20:09')]) {
    const first = eventsOf(story);
    expect(eventsOf(story).map(eventId)).toEqual(first.map(eventId));
    expect(new Set(first.map(eventId)).size).toBe(first.length);
    for (const event of first) expect(chamberEvent.parse(event)).toEqual(event);
  }
});
