// Preloaded into every process of the program: its clocks read as on a working morning, whatever day the tests are run on. The
// difference in milliseconds comes in GLOWFLEET_TEST_SHIFT_MS.
const shiftMs = Number(process.env.GLOWFLEET_TEST_SHIFT_MS ?? 0);
const RealDate = Date;
const realNow = Date.now.bind(Date);
RealDate.now = () => realNow() + shiftMs;
globalThis.Date = new Proxy(RealDate, {
  construct: (target, args, newTarget) => Reflect.construct(target, args.length === 0 ? [RealDate.now()] : args, newTarget),
});
