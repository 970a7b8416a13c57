/**
 * The bench's outputs, their interlocks, the host's lease and the held
 * starter. Two may ask: a host on the line, or the person at the local
 * controls; while a host holds the lease only the host rules.
 */
export type SwitchName = 'servo' | 'ignition' | 'supply' | 'fan';

/** Why an output was not switched; the words of PROTOCOL.md, part 8. */
export type Refusal =
  | { readonly reason: 'STOP-OPEN' | 'CAGE-OPEN' | 'SUPPLY-OFF' | 'NO-LEASE' | 'LEASED'; readonly words?: undefined }
  | { readonly reason: 'FAULT'; readonly words: readonly string[] };

/** PROTOCOL.md, part 8: how long one `STARTER 1` holds. */
const STARTER_HOLD_ms = 250;

export class Outputs {
  isStopClosed = true;
  isCageClosed = true;
  /** Set by the plant: the starter's thermal cut-out. */
  isStarterHot = false;
  /** Fault: once it is in, the starter relay does not let go. */
  isStarterWelded = false;

  throttle_permille = 0;
  isServoOn = false;
  isIgnitionOn = false;
  isSupplyOn = false;
  isFanOn = false;

  leaseHost: string | null = null;
  #leaseUntil_ms = 0;
  #starterUntil_ms = 0;
  #isButtonHeld = false;
  #isStuckIn = false;

  get isStarterEngaged(): boolean {
    return this.#isButtonHeld || this.#starterUntil_ms > 0 || this.#isStuckIn;
  }

  /** Engaged by a host's command, not by the button or a welded relay. */
  get isStarterCommanded(): boolean {
    return this.#starterUntil_ms > 0;
  }

  /** Lets time pass: lease and starter run out by themselves. */
  tick(now_ms: number): void {
    if (this.leaseHost !== null && now_ms >= this.#leaseUntil_ms) this.endLease();
    if (this.#starterUntil_ms > 0 && now_ms >= this.#starterUntil_ms) this.#starterUntil_ms = 0;
    // Hard-wired: the relays fall with the stop circuit and the supply.
    if (!this.isStopClosed || !this.isSupplyOn) this.isIgnitionOn = false;
    if (this.#starterRefusal() !== null) this.releaseStarter();
    this.#isStuckIn = this.isStarterWelded && this.isStarterEngaged;
  }

  /** An `L` line. Those of another host are ignored while the lease is held. */
  lease(host: string, ms: number, now_ms: number): void {
    if (this.leaseHost !== null && this.leaseHost !== host) return;
    if (ms === 0) {
      if (this.leaseHost === host) this.endLease();
      return;
    }
    if (ms < 300 || ms > 5000) return;
    if (this.leaseHost === null) this.#isButtonHeld = false;
    this.leaseHost = host;
    this.#leaseUntil_ms = now_ms + ms;
  }

  /** The lease has run out or was given back: outputs safe at once. */
  endLease(): void {
    this.leaseHost = null;
    this.releaseStarter();
    this.isIgnitionOn = false;
    this.throttle_permille = 0;
  }

  /** Everything off, as after a loss of power. */
  dropAll(): void {
    this.endLease();
    this.isServoOn = false;
    this.isSupplyOn = false;
    this.isFanOn = false;
  }

  leaseRefusal(host: string): Refusal | null {
    if (this.leaseHost === host) return null;
    return { reason: this.leaseHost === null ? 'NO-LEASE' : 'LEASED' };
  }

  setSwitch(name: SwitchName, on: boolean): Refusal | null {
    if (on && name === 'ignition') {
      if (!this.isStopClosed) return { reason: 'STOP-OPEN' };
      if (!this.isSupplyOn) return { reason: 'SUPPLY-OFF' };
    }
    switch (name) {
      case 'servo':
        this.isServoOn = on;
        break;
      case 'ignition':
        this.isIgnitionOn = on;
        break;
      case 'supply':
        this.isSupplyOn = on;
        if (!on) this.isIgnitionOn = false;
        break;
      case 'fan':
        this.isFanOn = on;
        break;
    }
    return null;
  }

  setThrottle(permille: number): Refusal | null {
    if (permille > 0 && !this.isServoOn) return { reason: 'SUPPLY-OFF' };
    this.throttle_permille = permille;
    return null;
  }

  /** Engages for 250 ms from now; a later call holds on. */
  holdStarter(now_ms: number): Refusal | null {
    const refusal = this.#starterRefusal();
    if (refusal === null) this.#starterUntil_ms = now_ms + STARTER_HOLD_ms;
    return refusal;
  }

  /** The button on the stand: as long as a finger is on it. */
  holdButton(isHeld: boolean): Refusal | null {
    const refusal = isHeld ? this.#starterRefusal() : null;
    this.#isButtonHeld = isHeld && refusal === null;
    return refusal;
  }

  releaseStarter(): void {
    this.#starterUntil_ms = 0;
    this.#isButtonHeld = false;
  }

  #starterRefusal(): Refusal | null {
    if (!this.isStopClosed) return { reason: 'STOP-OPEN' };
    if (!this.isCageClosed) return { reason: 'CAGE-OPEN' };
    if (!this.isSupplyOn) return { reason: 'SUPPLY-OFF' };
    if (this.isStarterHot) return { reason: 'FAULT', words: ['starter', 'motor', 'hot'] };
    return null;
  }
}
