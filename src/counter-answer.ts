/** What the counters say: own counts since first watched, and every maintenance interval of the site file with what is left of it. Hours are ms. */
import * as z from 'zod/mini';
import { COUNTED } from './counters.ts';
import { WORKED_ON } from './equipment.ts';
import { METER_EVENTS } from './meter.ts';

const at = z.int();

const meterCheck = z.object({
  /** What the machine's own meter gained over the runs of the same time, as far as it is known. */
  gained: z.number(),
  /** Our own count of exactly that time. */
  own: z.number(),
  isWhole: z.boolean(),
  /** Cleared, set or wrapped meanwhile; the newest last, ten at most. Raw values as told: hours in s. */
  events: z.array(z.object({ at, kind: z.enum(METER_EVENTS), from: z.number(), to: z.number() })),
});

const counterTotal = z.object({
  chamber: z.string(),
  counted: z.enum(COUNTED),
  /** Own count since first watched: hours in ms, runs as they are. */
  own: z.number(),
  since: z.nullable(at),
  /** Not observed meanwhile, and in no count. */
  unobservedMs: z.int(),
  meter: z.nullable(meterCheck),
  /** The machine's own meter as last told, raw: hours in s. */
  meterNow: z.nullable(z.number()),
});
export type CounterTotal = z.infer<typeof counterTotal>;

const maintenanceLine = z.object({
  chamber: z.string(),
  name: z.string(),
  part: z.enum(WORKED_ON),
  counted: z.enum(COUNTED),
  every: z.number(),
  /** Since the last work on the part; since first watched where nobody told of any. */
  used: z.number(),
  since: z.nullable(at),
  isSinceWork: z.boolean(),
  unobservedMs: z.int(),
  left: z.number(),
  state: z.enum(['overdue', 'due', 'far', 'unknown']),
  early: z.nullable(at),
  likely: z.nullable(at),
  late: z.nullable(at),
  /** When the interval was used up. */
  overdueSince: z.nullable(at),
  /** Such as `about 12 Dec (10–15 Dec)`. */
  due: z.string(),
});
export type MaintenanceLine = z.infer<typeof maintenanceLine>;

export const counters = z.object({ at, totals: z.array(counterTotal), maintenance: z.array(maintenanceLine) });
export type Counters = z.infer<typeof counters>;
