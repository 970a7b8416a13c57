/**
 * Bench, line and host of the model, stepped by milliseconds, and what must
 * hold at every one of them. Bench and host are the real ones; `flaw` breaks
 * one of them on purpose, so that it is known that the test can fail.
 */
import { PAGE_GRACE_MS } from '../../../electron/host/page-watch.ts';
import { hostCommandLine, hostLeaseLine } from '../../../shared-core/line/host-encoder.ts';
import { HostLineDecoder } from '../../../shared-core/line/host-lines.ts';
import type { HostLine } from '../../../shared-core/line/messages.ts';
import { Controller } from '../../../simulator/bench/controller.ts';
import { Plant } from '../../../simulator/physics/plant.ts';
import { rigs } from '../../../simulator/rigs.ts';
import { ModelHost } from './model-host.ts';
import { ModelLine } from './model-line.ts';

export type Flaw =
  | 'none'
  | 'host keeps the lease when it locks'
  | 'host says an old command again after it was switched off'
  | 'host goes on cranking after the hand let go'
  | 'bench lets a lease last five seconds'
  | 'bench holds the starter for a second'
  | 'bench asks for no lease'
  | 'bench executes a repeated command again';

/** PROTOCOL.md, parts 8 and 9. */
const STARTER_HOLD_MS = 250;
const LEASE_MS = 900;
/** The host looks so often; and one step of the bench. */
const HOST_TICK_MS = 20;
const STEP_MS = 1;
/** The promise, over a line that takes up to 49 ms. */
const STARTER_OFF_AFTER_DEATH_MS = 300;
/** A press that something has ended may be carried on for the time of an answer and one repeat. */
const PRESS_OVER_WITHIN_MS = 500;

export class ModelStand {
  readonly line: ModelLine;
  readonly plant: Plant;
  readonly bench: Controller;
  host: ModelHost | null = null;
  now_ms = 0;
  /** Of the host: it does nothing until then. */
  stalledUntil_ms = 0;
  /** What has been seen, so that a test can say that it looked at something. */
  readonly seen = { starterOn_ms: 0, ignitionOn_ms: 0, deathsWhileCranking: 0, kept_ms: 0, leaseLapses: 0, repeats: 0 };
  readonly #flaw: Flaw;
  readonly #heard = new HostLineDecoder();
  readonly #written = new HostLineDecoder();
  readonly #executed = new Set<string>();
  #executions = 0;
  #isByHand = false;
  #isPlugged = true;
  #isIgnitionByCommand = false;
  #wasStarterOn = false;
  #hadLease = false;
  #wasLive = false;
  #died_ms = Number.NaN;
  #starterPermitted_ms = Number.NEGATIVE_INFINITY;
  #ignitionPermitted_ms = Number.NEGATIVE_INFINITY;
  /** The newest "ignition on" of an operator, and what took it back. */
  #ignitionAsked_ms = Number.NEGATIVE_INFINITY;
  #ignitionTakenBack_ms = Number.NEGATIVE_INFINITY;
  /** When something ended what a hand was holding. */
  #pressEnded: { readonly press: number; readonly at_ms: number } | null = null;
  #longestStall_ms = 0;
  /** When a page could be seen last. */
  #watched_ms = 0;
  #late: { readonly at_ms: number; readonly bytes: Uint8Array }[] = [];

  constructor(seed: number, flaw: Flaw = 'none') {
    this.#flaw = flaw;
    this.line = new ModelLine(seed);
    const rig = rigs['lapwing-120'];
    this.plant = new Plant({ rig, site: rig.home, seed });
    this.bench = new Controller(this.plant, { fast_Hz: 10, slow_Hz: 2, seed, version: '1.0', firmware: 'sim-model' });
    this.#watchBench();
    this.startHost();
    this.pass(60);
  }

  // ------------------------------------------------------------------- acts --

  startHost(): void {
    if (this.host !== null) return;
    this.#died_ms = Number.NaN;
    this.stalledUntil_ms = 0;
    this.host = new ModelHost(this.now_ms, (bytes) => this.#fromHost(bytes));
    if (this.#isPlugged) this.host.plug(true);
  }

  killHost(): void {
    if (this.host === null) return;
    if (this.bench.outputs.isStarterCommanded) this.seen.deathsWhileCranking += 1;
    this.host = null;
    this.#died_ms = this.now_ms;
    this.#late = [];
    this.#takeIgnitionBack();
  }

  plug(isIn: boolean): void {
    if (isIn === this.#isPlugged) return;
    this.#isPlugged = isIn;
    this.host?.plug(isIn);
  }

  stall(for_ms: number): void {
    this.stalledUntil_ms = Math.max(this.stalledUntil_ms, this.now_ms + for_ms);
    this.#longestStall_ms = Math.max(this.#longestStall_ms, for_ms);
  }

  reboot(): void {
    this.#isIgnitionByCommand = false;
    this.#executed.clear();
    this.#endPress();
    this.#takeIgnitionBack();
    this.bench.reboot();
  }

  /** An act at the stand's own controls: they do nothing while a host holds the lease. */
  byHand(act: () => void): void {
    if (this.bench.outputs.leaseHost !== null) return;
    this.#isByHand = true;
    act();
    this.#isByHand = false;
  }

  ignition(on: boolean): void {
    const done = this.host?.outputs.command('operator 1', { name: 'IGNITION', on });
    if (done?.ok !== true) return;
    if (on) this.#ignitionAsked_ms = this.now_ms;
    else this.#takeIgnitionBack();
  }

  supply(on: boolean): void {
    const done = this.host?.outputs.command('operator 1', { name: 'SUPPLY', on });
    if (done?.ok === true && !on) this.#takeIgnitionBack();
  }

  pass(ms: number): void {
    for (let i = 0; i < ms; i++) this.#step();
  }

  // ------------------------------------------------------------------- time --

  #step(): void {
    this.now_ms += 1;
    const { host, line, now_ms } = this;
    for (const bytes of line.arrivedAtBench(now_ms)) this.#toBench(bytes);
    this.plant.step();
    this.bench.step();
    const sent = this.bench.takeBytes();
    if (sent.length > 0 && this.#isPlugged) line.toHost(sent, now_ms);
    if (host !== null) {
      host.time(now_ms);
      // A host that stands still finds all that has come since when it goes on.
      if (now_ms >= this.stalledUntil_ms) {
        for (const bytes of line.arrivedAtHost(now_ms)) host.events?.onBytes(bytes, now_ms * 1000);
        host.run(now_ms);
        this.#breakHost(host);
      }
    } else line.arrivedAtHost(now_ms);
    this.#look();
  }

  #toBench(bytes: Uint8Array): void {
    if (!this.#isPlugged) return;
    let again: string | null = null;
    let id: string | null = null;
    this.#heard.push(bytes, (heard: HostLine) => {
      if (heard.kind !== 'command' || this.bench.isBooting) return;
      id = `${heard.host} ${heard.id}`;
      if (this.#executed.has(id)) again = id;
    });
    const before = this.#executions;
    this.bench.write(bytes);
    if (again !== null) this.seen.repeats += 1;
    if (again !== null && this.#executions > before)
      fail(`the repeated command ${again} was executed again`, this.now_ms);
    if (id !== null) this.#executed.add(id);
  }

  #fromHost(bytes: Uint8Array): boolean {
    const outputs = this.host?.outputs;
    this.#written.push(bytes, (line: HostLine) => {
      if (outputs === undefined) return;
      if (line.kind === 'lease') {
        if (line.ms > 0 && !outputs.isLive && !outputs.isKept && this.#isRunningIn(outputs)) {
          fail('a locked host renewed its lease', this.now_ms);
        }
        return;
      }
      const isEnergising = /^(IGNITION|STARTER|SUPPLY|SERVO)$/.test(line.name) && line.args[0] === '1';
      if (isEnergising && !outputs.isLive) fail(`a locked host sent ${line.name} 1`, this.now_ms);
      if (line.name === 'STARTER' && line.args[0] === '1' && this.#flaw !== 'none') this.#late = [];
    });
    if (!this.#isPlugged) return false;
    this.#deliver(bytes);
    return true;
  }

  /** Going live renews first and is live then: that one line is said while still locked. */
  #isRunningIn(outputs: ModelHost['outputs']): boolean {
    return outputs.view().why !== '' && this.#wasLive;
  }

  #deliver(bytes: Uint8Array): void {
    const isGivenBack = /^L [0-9A-F]{4} 0~/.test(String.fromCharCode(...bytes));
    if (this.#flaw === 'host keeps the lease when it locks' && isGivenBack) return;
    this.line.toBench(bytes, this.now_ms);
    if (this.#flaw === 'host says an old command again after it was switched off') {
      const text = String.fromCharCode(...bytes);
      if (text.includes('IGNITION 1')) this.#late.push({ at_ms: this.now_ms + 700, bytes: fresh(bytes) });
    }
  }

  // ------------------------------------------------------------- invariants --

  #watchBench(): void {
    const { outputs } = this.bench;
    const setSwitch = outputs.setSwitch.bind(outputs);
    outputs.setSwitch = (name, on) => {
      this.#executions += 1;
      const refusal = setSwitch(name, on);
      if (name === 'ignition' && on && refusal === null) {
        if (!this.#isByHand && !this.#isIgnitionByCommand) this.#ignitionCameOn();
        this.#isIgnitionByCommand = !this.#isByHand;
      }
      return refusal;
    };
    const holdStarter = outputs.holdStarter.bind(outputs);
    outputs.holdStarter = (now_ms) => {
      this.#executions += 1;
      return holdStarter(this.#flaw === 'bench holds the starter for a second' ? now_ms + 750 : now_ms);
    };
    const setThrottle = outputs.setThrottle.bind(outputs);
    outputs.setThrottle = (permille) => {
      this.#executions += 1;
      return setThrottle(permille);
    };
    if (this.#flaw === 'bench lets a lease last five seconds') {
      const lease = outputs.lease.bind(outputs);
      outputs.lease = (host, ms, now_ms) => lease(host, ms === 0 ? 0 : 5000, now_ms);
    }
    if (this.#flaw === 'bench asks for no lease') outputs.leaseRefusal = () => null;
    if (this.#flaw === 'bench executes a repeated command again') {
      const push = this.bench.write.bind(this.bench);
      this.bench.write = (bytes) => {
        const text = String.fromCharCode(...bytes);
        // As a bench does that keeps no memory: a known number counts as new.
        push(this.#isKnown(text) ? fresh(bytes) : bytes);
      };
    }
  }

  #isKnown(text: string): boolean {
    const [kind, host, id] = text.split(' ');
    return kind === 'Q' && this.#executed.has(`${host} ${id}`);
  }

  #breakHost(host: ModelHost): void {
    const name = host.outputs.seat.host;
    if (this.#flaw === 'host keeps the lease when it locks' && this.now_ms % 200 === 0 && this.#hadLease) {
      this.line.toBench(hostLeaseLine(name, LEASE_MS), this.now_ms);
    }
    if (this.#flaw === 'host goes on cranking after the hand let go' && this.now_ms % 100 === 0 && this.#wasStarterOn) {
      const id = (0x8000 + this.now_ms / 100).toString(16).toUpperCase();
      this.line.toBench(hostCommandLine(name, id, { name: 'STARTER', on: true }), this.now_ms);
    }
    for (const late of this.#late.filter((each) => each.at_ms === this.now_ms)) {
      this.line.toBench(late.bytes, this.now_ms);
    }
  }

  #ignitionCameOn(): void {
    const slack_ms = this.line.worstDelay_ms + STEP_MS;
    if (this.#ignitionAsked_ms === Number.NEGATIVE_INFINITY) fail('ignition came on unasked', this.now_ms);
    if (this.#ignitionTakenBack_ms > this.#ignitionAsked_ms && this.now_ms - this.#ignitionTakenBack_ms > slack_ms) {
      fail(`ignition came on ${this.now_ms - this.#ignitionTakenBack_ms} ms after it was taken back`, this.now_ms);
    }
  }

  #look(): void {
    const { now_ms, host } = this;
    const { outputs } = this.bench;
    if (!outputs.isIgnitionOn) this.#isIgnitionByCommand = false;
    const isIgnitionOn = this.#isIgnitionByCommand;
    const isStarterOn = outputs.isStarterCommanded;
    const hasLease = outputs.leaseHost !== null;
    const isLive = host?.outputs.isLive === true;
    const isKept = host?.outputs.isKept === true;
    if (isLive || isKept) this.#ignitionPermitted_ms = now_ms;
    if (isLive && host?.isHeldAt(now_ms)) this.#starterPermitted_ms = now_ms;
    if (this.#wasLive && !isLive) this.#takeIgnitionBack();
    if (this.#hadLease && !hasLease) {
      this.seen.leaseLapses += 1;
      this.#endPress();
    }
    if (!outputs.isStopClosed || !outputs.isCageClosed || !outputs.isSupplyOn) this.#endPress();
    this.#wasLive = isLive;
    this.#hadLease = hasLease;

    const flight_ms = this.line.worstDelay_ms + STEP_MS;
    if (isStarterOn) {
      this.seen.starterOn_ms += 1;
      if (!hasLease) fail('starter on without a lease', now_ms);
      if (!outputs.isStopClosed || !outputs.isCageClosed) fail('starter on with stop circuit or cage open', now_ms);
      const since_ms = now_ms - this.#starterPermitted_ms;
      const most_ms = STARTER_HOLD_MS + flight_ms + HOST_TICK_MS + this.#stallOf(host);
      if (since_ms > most_ms) fail(`starter on ${since_ms} ms after the last permission and hold`, now_ms);
      const dead_ms = now_ms - this.#died_ms;
      if (dead_ms > STARTER_HOLD_MS + flight_ms) fail(`starter on ${dead_ms} ms after the host's death`, now_ms);
      if (dead_ms > STARTER_OFF_AFTER_DEATH_MS && flight_ms <= 50) fail('starter on 300 ms after death', now_ms);
      if (!this.#wasStarterOn) this.#starterCameOn();
    }
    if (isIgnitionOn) {
      this.seen.ignitionOn_ms += 1;
      if (!hasLease) fail('ignition on by command without a lease', now_ms);
      const since_ms = now_ms - this.#ignitionPermitted_ms;
      if (since_ms > LEASE_MS + flight_ms + HOST_TICK_MS) fail(`ignition on ${since_ms} ms after permission`, now_ms);
    }
    if (isKept) this.seen.kept_ms += 1;
    if (host === null || host.pages.some((page) => page.isOpen && page.isSeen)) this.#watched_ms = now_ms;
    const unwatched_ms = now_ms - this.#watched_ms;
    if ((isLive || isKept) && unwatched_ms > PAGE_GRACE_MS + STEP_MS + this.#longestStall_ms) {
      fail(`permission with nobody watching for ${unwatched_ms} ms`, now_ms);
    }
    this.#wasStarterOn = isStarterOn;
  }

  /** What has ended a press is final, although the hand is still on the button. */
  #starterCameOn(): void {
    const ended = this.#pressEnded;
    if (ended === null) return;
    const slack_ms = PRESS_OVER_WITHIN_MS + 2 * this.line.worstDelay_ms + this.#longestStall_ms;
    const isSame = this.host?.pages.some((page) => page.press === ended.press) === true;
    const since_ms = this.now_ms - ended.at_ms;
    if (isSame && since_ms > slack_ms) fail(`a press that had ended cranked again ${since_ms} ms later`, this.now_ms);
  }

  #endPress(): void {
    const press = this.host?.pages.find((page) => page.press !== null)?.press ?? null;
    if (press !== null && this.#pressEnded?.press !== press) this.#pressEnded = { press, at_ms: this.now_ms };
  }

  #takeIgnitionBack(): void {
    this.#ignitionTakenBack_ms = this.now_ms;
  }

  /** A host that stands still cannot let go sooner; the bench does. */
  #stallOf(host: ModelHost | null): number {
    return host === null ? 0 : STEP_MS;
  }
}

/** The same command under a number that the bench has not met. */
function fresh(bytes: Uint8Array): Uint8Array {
  const text = String.fromCharCode(...bytes);
  const [, host = 'C0DE', id = '0001', name = '', argument = ''] = text.slice(0, text.indexOf('~')).split(' ');
  const other = ((Number.parseInt(id, 16) + 0x4000) & 0xffff).toString(16).toUpperCase().padStart(4, '0');
  const on = argument !== '0';
  if (name === 'THROTTLE') return hostCommandLine(host, other, { name, permille: Number(argument) });
  if (name === 'IGNITION' || name === 'STARTER' || name === 'SUPPLY' || name === 'SERVO' || name === 'FAN') {
    return hostCommandLine(host, other, { name, on });
  }
  return bytes;
}

function fail(what: string, now_ms: number): never {
  throw new Error(`at ${now_ms} ms: ${what}`);
}
