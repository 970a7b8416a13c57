/**
 * Drives a bench's outputs and judges what it does (PROTOCOL.md, parts 8 and
 * 9). On a real stand this cranks the engine with the ignition off, and
 * switches the ignition on with the starter off: never both.
 */
import { type CheckId, checkIds, checks } from './checks.ts';
import { judgeAsked } from './identify-script.ts';
import type { Script, Talk, Wait } from './script.ts';

const LEASE_ms = 900;
const RENEW_ms = 200;
/** From a command to its event on the line. */
const SHOWN_ms = 300;
/** Part 8: 250 ms; what the bench's own tick and the line add. */
const STARTER_LEAST_us = 200e3;
const STARTER_MOST_us = 320e3;

/** PROTOCOL.md, part 8: a held starter is repeated at least so often. */
const REPEAT_WITHIN_ms = 150;

export function* outputsScript(talk: Talk): Script {
  const { watch, findings, host, other } = talk;
  const note = (check: CheckId, isHeld: boolean, detail: string): void => findings.note(check, isHeld, detail);
  const state = (key: string): number | string | undefined =>
    watch.events.findLast((event) => event.key === key)?.state;
  const has = (key: string): boolean => watch.table.table?.inputs.some((input) => input.key === key) ?? false;
  const reading = (quantity: string): number => {
    const row = watch.table.table?.channels.find((channel) => channel.quantity === quantity);
    return row ? (watch.values.get(row.key) ?? Number.NaN) : Number.NaN;
  };
  /** Waits with the lease renewed. */
  function* held(ms: number, until: () => boolean = () => false): Generator<Wait, boolean, boolean> {
    for (let left_ms = ms; left_ms > 0; left_ms -= RENEW_ms) {
      talk.lease(host, LEASE_ms);
      if (yield { until, most_ms: Math.min(RENEW_ms, left_ms) }) return true;
    }
    return until();
  }
  function* shown(key: string, wanted: 0 | 1, ms = SHOWN_ms): Generator<Wait, boolean, boolean> {
    return has(key) ? yield* held(ms, () => state(key) === wanted) : true;
  }

  for (const [key, words] of [
    ['stop', 'stop circuit'],
    ['cage', 'propeller cage'],
  ] as const) {
    if (has(key) && state(key) !== 1) {
      skip(talk, `the ${words} is open`);
      return;
    }
  }
  if (reading('shaft-speed') > 0) {
    skip(talk, 'the shaft turns');
    return;
  }

  const nonsense = yield* talk.ask('NO-SUCH-COMMAND');
  note('unknown', nonsense.said === 'UNKNOWN', `NO-SUCH-COMMAND: ${nonsense.said}`);
  for (const rest of ['FAN 2', 'FAN', 'THROTTLE 1001', 'THROTTLE -1', 'THROTTLE 007', 'THROTTLE']) {
    const { said } = yield* talk.ask(rest);
    note('arguments', said === 'ARGUMENT', `${rest}: ${said}`);
  }
  for (const rest of ['IGNITION 1', 'STARTER 1', 'SUPPLY 1', 'SERVO 1', 'THROTTLE 1']) {
    const { said } = yield* talk.ask(rest);
    note('lease-needed', said === 'NO-LEASE', `${rest}: ${said}`);
  }
  for (const rest of ['IGNITION 0', 'THROTTLE 0', 'STARTER 0']) {
    const { said } = yield* talk.ask(rest);
    note('safe-without', said === 'A', `${rest}: ${said}`);
  }
  const tare = yield* talk.ask('TARE-THRUST');
  note('tare-rest', tare.said === 'A', `TARE-THRUST: ${tare.said}`);
  const reset = yield* talk.ask('RESET-FUEL');
  yield* talk.wait(1200);
  const total = reading('fuel-total');
  if (!Number.isNaN(total))
    note('fuel-reset', reset.said === 'A' && total < 5, `RESET-FUEL: ${reset.said}, total ${total}`);

  talk.lease(host, LEASE_ms);
  note('lease-held', yield* shown('lease', 1), 'the input "lease" did not turn to 1');
  talk.lease(other, LEASE_ms);
  const theirs = yield* talk.ask('SUPPLY 1', other);
  note('lease-one', theirs.said === 'LEASED', `SUPPLY 1 from another host: ${theirs.said}`);
  talk.lease(other, 0);
  yield* held(100);
  note('lease-one', !has('lease') || state('lease') === 1, 'another host ended the lease');

  const wasSupplied = state('supply') === 1;
  const wasServo = state('servo') === 1;
  for (const key of ['supply', 'servo'] as const) {
    talk.lease(host, LEASE_ms);
    const { said } = yield* talk.ask(`${key.toUpperCase()} 1`);
    note(
      'switch-shown',
      said === 'A' && (yield* shown(key, 1)),
      `${key.toUpperCase()} 1: ${said}, input ${state(key)}`,
    );
  }
  talk.lease(host, LEASE_ms);
  const throttle = yield* talk.ask('THROTTLE 200');
  const follows = yield* held(800, () => Math.abs(reading('throttle-demand') - 20) < 1);
  const hasDemand = !Number.isNaN(reading('throttle-demand'));
  note(
    'throttle-shown',
    throttle.said === 'A' && (follows || !hasDemand),
    `THROTTLE 200: ${throttle.said}, demand ${reading('throttle-demand')} %`,
  );

  yield* starter();
  yield* lapse();
  yield* giveBack();

  if (!wasServo) yield* talk.ask('SERVO 0');
  if (!wasSupplied) yield* talk.ask('SUPPLY 0');
  yield* talk.wait(300);
  judgeAsked(talk);

  /** All with the ignition off. */
  function* starter(): Script {
    talk.lease(host, LEASE_ms);
    yield* talk.ask('IGNITION 0');
    const span_us = yield* once('once');
    if (span_us === null) note('starter-lets-go', false, 'the input "starter" did not come and go');
    else note('starter-lets-go', isOneHold(span_us), `it held for ${Math.round(span_us / 1000)} ms`);
    yield* held(500);
    const repeated_us = yield* once('again under the same id');
    if (repeated_us !== null)
      note('starter-repeat', isOneHold(repeated_us), `it held for ${Math.round(repeated_us / 1000)} ms`);

    // A busy machine may repeat too late itself; the bench is then not to blame, and it is tried again.
    for (let attempt = 1; ; attempt++) {
      const from = watch.events.length;
      const firstSent = talk.sent.length;
      for (let i = 0; i < 7; i++) {
        talk.lease(host, LEASE_ms);
        yield* talk.ask('STARTER 1');
        yield* talk.wait(i === 0 ? 60 : 110);
      }
      const times_ms = [...talk.sent.slice(firstSent).map((each) => each.at_ms), talk.now_ms];
      const widest_ms = Math.max(...times_ms.slice(1).map((at_ms, i) => at_ms - times_ms[i]!));
      const gaps = watch.events.slice(from).filter((event) => event.key === 'starter' && event.state === 0);
      const isHeld = state('starter') === 1 && gaps.length === 0;
      if (!isHeld && widest_ms > REPEAT_WITHIN_ms && attempt < 5) {
        yield* held(500);
        continue;
      }
      note('starter-held', isHeld, `it let go in between; our repeats were at most ${Math.round(widest_ms)} ms apart`);
      break;
    }
    if (reading('shaft-speed') > 0) {
      const moving = yield* talk.ask('TARE-THRUST');
      note('tare-moving', moving.said === 'MOVING', `TARE-THRUST at ${reading('shaft-speed')} rpm: ${moving.said}`);
    }
    talk.lease(host, LEASE_ms);
    yield* talk.ask('STARTER 1');
    yield* talk.ask('STARTER 0');
    note('starter-off', yield* shown('starter', 0, 120), 'the input "starter" did not turn to 0 within 120 ms');
    // At rest again before the ignition comes on.
    yield* held(8000, () => reading('shaft-speed') === 0);
  }

  /** `STARTER 1`, and for the second kind the same line once more; bench time from engaged to free, or null. */
  function* once(kind: 'once' | 'again under the same id'): Generator<Wait, number | null, boolean> {
    const from = watch.events.length;
    const mine = (): typeof watch.events => watch.events.slice(from).filter((event) => event.key === 'starter');
    const id = talk.nextId();
    talk.lease(host, LEASE_ms);
    yield* talk.ask('STARTER 1', host, id);
    if (kind !== 'once') {
      yield* held(130);
      talk.send(talk.line(host, id, 'STARTER 1'));
    }
    yield* held(900, () => mine().some((event) => event.state === 1) && mine().at(-1)?.state === 0);
    const on = mine().find((event) => event.state === 1);
    const off = mine().findLast((event) => event.state === 0);
    return on && off && off.bench_us > on.bench_us ? off.bench_us - on.bench_us : null;
  }

  function* lapse(): Script {
    talk.lease(host, LEASE_ms);
    yield* talk.ask('THROTTLE 100');
    const on = yield* talk.ask('IGNITION 1');
    note(
      'switch-shown',
      on.said === 'A' && (yield* shown('ignition', 1)),
      `IGNITION 1: ${on.said}, input ${state('ignition')}`,
    );
    talk.lease(host, LEASE_ms);
    const isSafe = (): boolean =>
      (!has('ignition') || state('ignition') === 0) &&
      !(reading('throttle-demand') > 0) &&
      (!has('lease') || state('lease') === 0);
    const isTimely = yield { until: isSafe, most_ms: LEASE_ms + 200 };
    note(
      'lapse-safe',
      isTimely,
      `${LEASE_ms + 200} ms after the last renewal: ignition ${state('ignition')}, demand ${reading('throttle-demand')} %, lease ${state('lease')}`,
    );
    const kept = ['supply', 'servo'].filter((key) => has(key) && state(key) !== 1);
    note('lapse-keeps', kept.length === 0, `went off: ${kept.join(', ')}`);
    yield* held(500);
    note('lapse-stays', !has('ignition') || state('ignition') === 0, 'the ignition came on again with the new lease');
  }

  function* giveBack(): Script {
    talk.lease(host, LEASE_ms);
    yield* talk.ask('THROTTLE 100');
    yield* talk.ask('IGNITION 1');
    yield* shown('ignition', 1);
    talk.lease(host, 0);
    const isSafe = yield {
      until: () => (!has('ignition') || state('ignition') === 0) && !(reading('throttle-demand') > 0),
      most_ms: 250,
    };
    note('give-back', isSafe, `250 ms later: ignition ${state('ignition')}, demand ${reading('throttle-demand')} %`);
  }
}

function isOneHold(span_us: number): boolean {
  return span_us >= STARTER_LEAST_us && span_us <= STARTER_MOST_us;
}

function skip(talk: Talk, why: string): void {
  for (const id of checkIds) if (checks[id].needs === 'outputs') talk.findings.notAsked(id, why);
}
