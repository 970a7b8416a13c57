/**
 * A bench controller written by a stranger: from PROTOCOL.md alone, with its
 * own CRC, formatting and host-line parser. It imports nothing of ours, so
 * that a misreading on our side cannot hide behind the same misreading here.
 *
 * Its choices are unusual and legal on purpose: groups 7 and 3, rows sent
 * last first, units other than the usual ones, six decimals, a quantity and a
 * unit that nobody knows, lines ended by CR LF. It has no physics: readings
 * are set from outside. Who carries its bytes is left to the tests.
 */

export type StateLetter = 'O' | 'S' | 'V' | 'U' | 'X';
export type Level = '0' | '1' | 'X';

export interface StrangerChannel {
  readonly group: number;
  readonly column: number;
  readonly key: string;
  readonly quantity: string;
  readonly unit: string;
  readonly decimals: number;
  readonly low: number;
  readonly high: number;
  /** What it reads at power-up, in `unit`. */
  readonly first: number;
}

/** Channel numbers are the places in this list; neither group nor column follows them. */
export const strangerChannels: readonly StrangerChannel[] = [
  row(3, 6, 'case_vac', 'crankcase-vacuum', 'mm[Hg]', 1, -7600, 7600, -12.5),
  row(3, 0, 'head_rear', 'head-temperature', '[degF]', 1, -400, 9000, 365.9),
  row(7, 0, 'pull', 'thrust', 'kgf', 4, -100_000, 400_000, 31.8712),
  row(3, 2, 'head_left', 'head-temperature', 'K', 2, 20_000, 90_000, 451.37),
  row(7, 2, 'moment', 'torque', 'N.m', 6, -60_000_000, 60_000_000, -0.000_001),
  row(3, 1, 'head_front', 'head-temperature', 'Cel', 0, -40, 500, 181),
  row(7, 1, 'n_prop', 'shaft-speed', 'Hz', 3, 0, 200_000, 0),
  row(7, 3, 'flow', 'fuel-flow', 'mL/min', 2, -500, 50_000, 71.25),
  row(3, 3, 'baro', 'ambient-pressure', 'kPa', 3, 50_000, 120_000, 94.117),
  row(3, 4, 'oat', 'ambient-temperature', '[degF]', 2, -6000, 20_000, -4.09),
  row(3, 5, 'burnt', 'fuel-total', 'L', 6, 0, 2_000_000_000, 1.234_567),
  row(3, 7, 'exhaust_a', 'exhaust-temperature', '[degF]', 0, -40, 2200, 1094),
  row(3, 8, 'mains', 'supply-voltage', 'mV', 0, 0, 30_000, 12_417),
  row(3, 9, 'crank_amp', 'starter-current', 'mA', 0, -200_000, 200_000, -35),
  row(3, 10, 'travel', 'throttle-demand', '%', 3, 0, 100_000, 0),
];

/** Lines per second in millihertz, by group number. */
export const strangerRates_mHz: ReadonlyMap<number, number> = new Map([
  [7, 40_000],
  [3, 6250],
]);

export const strangerInputs: readonly (readonly [key: string, word0: string, word1: string])[] = [
  ['lease', 'free', 'held'],
  ['starter', 'out', 'in'],
  ['fuel_door', 'shut', 'ajar'],
  ['ignition', 'dead', 'hot'],
  ['servo', 'limp', 'powered'],
  ['supply', 'off', 'on'],
  ['fan', 'still', 'blowing'],
  ['cage', 'open', 'closed'],
  ['stop', 'tripped', 'healthy'],
];

const identityEvery_us = 2_000_000;
const tableEvery_us = 5_000_000;
/** Table rows go out one by one, this far apart, so that they do not delay samples. */
const rowEvery_us = 20_000;
/** Half of what is allowed. */
const inputsEvery_us = 1_000_000;
const starterHold_us = 250_000;
const lineBytesMax = 512;
const answersKept = 16;

interface Answer {
  readonly pair: string;
  readonly kind: 'A' | 'R';
  readonly tail: string;
}

interface Due {
  at_us: number;
  readonly every_us: number;
  readonly act: () => void;
}

/** Time is microseconds since boot and only rises; a reboot is a new object with another `boot`. */
export class StrangerBench {
  readonly layout: string;
  /** Commands in the order in which they were executed; repeats and refusals do not show here. */
  readonly executed: string[] = [];
  throttle_perMille = 0;

  private readonly boot: string;
  private readonly readings = new Map<string, number | StateLetter>();
  private readonly levels = new Map<string, Level>(strangerInputs.map(([key]) => [key, '0']));
  private readonly dues: Due[] = [];
  private readonly rows: string[];
  private rowQueue: string[] = [];
  private answers: Answer[] = [];
  private leaseHost: string | undefined;
  private leaseEnd_us = Number.POSITIVE_INFINITY;
  private starterEnd_us = Number.POSITIVE_INFINITY;
  private thrustZero = 0;
  private torqueZero = 0;
  private fuelZero = 0;
  private flowZero = 0;
  private now_us: number;
  private seq: number;
  private out = '';
  private inbox: number[] = [];
  private inboxTooLong = false;

  /** `start_us` and `seq` let a test begin just before either wraps; a real bench begins with both at 0. */
  constructor(options: { boot: string; start_us?: number; seq?: number }) {
    this.boot = options.boot;
    this.now_us = options.start_us ?? 0;
    this.seq = options.seq ?? 0;
    for (const channel of strangerChannels) this.readings.set(channel.key, channel.first);
    this.levels.set('stop', '1').set('cage', '1');

    const bare = tableRows();
    this.layout = hex(crc16(bare.map((one) => `${one.kind} ${one.fields}`).join('\n')), 4);
    // Last row first: nothing in the protocol asks for an order.
    this.rows = bare.map((one) => `${one.kind}|${this.layout} ${one.fields}`).reverse();

    this.sendIdentity();
    this.rowQueue = [...this.rows];
    this.sendInputs();
    const t = this.now_us;
    this.dues.push(
      { at_us: t + identityEvery_us, every_us: identityEvery_us, act: () => this.sendIdentity() },
      { at_us: t + tableEvery_us, every_us: tableEvery_us, act: () => this.queueTable() },
      { at_us: t + rowEvery_us, every_us: rowEvery_us, act: () => this.sendRow() },
      { at_us: t + inputsEvery_us, every_us: inputsEvery_us, act: () => this.sendInputs() },
    );
    for (const [group, rate_mHz] of strangerRates_mHz) {
      const every_us = 1e9 / rate_mHz;
      this.dues.push({ at_us: t + every_us, every_us, act: () => this.sendSamples(group) });
    }
  }

  /** Runs up to and including `to_us`; gives back all bytes sent since the last call. */
  advance(to_us: number): Uint8Array {
    for (;;) {
      const due = this.dues.reduce((a, b) => (b.at_us < a.at_us ? b : a));
      const next_us = Math.min(due.at_us, this.leaseEnd_us, this.starterEnd_us);
      if (next_us > to_us) break;
      this.now_us = Math.max(this.now_us, next_us);
      if (this.starterEnd_us === next_us) this.releaseStarter();
      else if (this.leaseEnd_us === next_us) this.endLease();
      else {
        due.at_us += due.every_us;
        due.act();
      }
    }
    this.now_us = Math.max(this.now_us, to_us);
    const sent = Uint8Array.from(this.out, (character) => character.charCodeAt(0));
    this.out = '';
    return sent;
  }

  /** Bytes from the host, arrived at `at_us`; gives back all bytes sent since the last call. */
  receive(bytes: Uint8Array, at_us: number): Uint8Array {
    const before = [...this.advance(at_us)];
    for (const byte of bytes) this.takeByte(byte);
    return Uint8Array.from([...before, ...this.advance(at_us)]);
  }

  /** Sets what a sensor reads, in the unit of its channel, or the state it is in. */
  setReading(key: string, reading: number | StateLetter): void {
    if (!this.readings.has(key)) throw new RangeError(`no channel ${key}`);
    this.readings.set(key, reading);
  }

  /** A switch on the stand, or what the bench does itself: told at once when it changes. */
  setLevel(key: string, level: Level): void {
    const input = strangerInputs.findIndex(([name]) => name === key);
    if (input < 0) throw new RangeError(`no input ${key}`);
    if (this.levels.get(key) === level) return;
    this.levels.set(key, level);
    this.send('E', `${input} ${level}`);
    if (key === 'stop' && level !== '1') {
      // The wired circuit has cut both already; the bench only follows.
      this.releaseStarter();
      this.setLevel('ignition', '0');
    }
  }

  level(key: string): Level {
    return this.levels.get(key) ?? 'X';
  }

  /** Text of any characters; spaces at the ends and double ones are coded, as the body allows only single ones. */
  say(weight: 'N' | 'W' | 'F', text: string): void {
    let coded = '';
    for (const byte of new TextEncoder().encode(text)) {
      const spaceNow = byte === 0x20 && (coded === '' || coded.endsWith(' '));
      const plain = byte >= 0x20 && byte <= 0x7d && byte !== 0x25 && !spaceNow;
      coded += plain ? String.fromCharCode(byte) : `%${hex(byte, 2)}`;
    }
    this.send('T', `${weight} ${coded.replace(/ $/, '%20')}`);
  }

  private send(kind: string, fields: string): void {
    const time = hex(Math.floor(this.now_us) % 2 ** 32, 8);
    const body = `${kind} ${hex(this.seq, 4)} ${time} ${fields}`;
    this.seq = (this.seq + 1) % 0x1_0000;
    const line = `${body}~${hex(crc16(body), 4)}\r\n`;
    if (line.length > lineBytesMax) throw new RangeError(`line of ${line.length} bytes`);
    this.out += line;
  }

  private sendIdentity(): void {
    const counts = `${strangerRates_mHz.size} ${strangerChannels.length} ${strangerInputs.length}`;
    this.send('I', `1.0 far-field.bench r7/b-[2] ${this.boot} ${this.layout} ${counts}`);
  }

  private queueTable(): void {
    if (this.rowQueue.length === 0) this.rowQueue = [...this.rows];
  }

  private sendRow(): void {
    const next = this.rowQueue.shift();
    if (next === undefined) return;
    const [kind = '', fields = ''] = next.split('|');
    this.send(kind, fields);
  }

  private sendInputs(): void {
    strangerInputs.forEach(([key], input) => {
      this.send('E', `${input} ${this.level(key)}`);
    });
  }

  private sendSamples(group: number): void {
    const columns = strangerChannels.filter((one) => one.group === group).sort((a, b) => a.column - b.column);
    this.send('S', `${group} ${columns.map((one) => this.valueField(one)).join(' ')}`);
  }

  private valueField(channel: StrangerChannel): string {
    const reading = this.readings.get(channel.key) ?? 'X';
    if (typeof reading === 'string') return reading;
    const zero = this.zeroOf(channel.key);
    const shown = channel.key === 'travel' ? this.throttle_perMille / 10 : reading - zero;
    const scaled = Math.round(shown * 10 ** channel.decimals);
    if (scaled > channel.high) return 'V';
    if (scaled < channel.low) return 'U';
    return scaled === 0 ? '0' : String(scaled);
  }

  private zeroOf(key: string): number {
    if (key === 'pull') return this.thrustZero;
    if (key === 'moment') return this.torqueZero;
    if (key === 'burnt') return this.fuelZero;
    return key === 'flow' ? this.flowZero : 0;
  }

  private takeByte(byte: number): void {
    if (byte !== 0x0a) {
      if (this.inbox.length < lineBytesMax) this.inbox.push(byte);
      else this.inboxTooLong = true;
      return;
    }
    const whole = !this.inboxTooLong && this.inbox.length < lineBytesMax;
    const line = String.fromCharCode(...this.inbox).replace(/\r$/, '');
    this.inbox = [];
    this.inboxTooLong = false;
    if (whole) this.takeLine(line);
  }

  private takeLine(line: string): void {
    const parts = /^([ -}]+)~([0-9A-F]{4})$/.exec(line);
    const body = parts?.[1];
    if (body === undefined || hex(crc16(body), 4) !== parts?.[2]) return;
    const lease = /^L ([0-9A-Fa-f]{4}) (0|[1-9][0-9]{0,9})$/.exec(body);
    if (lease) this.takeLease(lease[1] ?? '', Number(lease[2]));
    const command = /^Q ([0-9A-Fa-f]{4}) ([0-9A-Fa-f]{4}) ([A-Za-z0-9._\-/%[\]]{1,24})((?: [!-}]+)*)$/.exec(body);
    if (command) this.takeCommand(command[1] ?? '', command[2] ?? '', command[3] ?? '', (command[4] ?? '').trim());
  }

  private takeLease(host: string, lease_ms: number): void {
    if (this.leaseHost !== undefined && this.leaseHost !== host) return;
    if (lease_ms === 0) {
      if (this.leaseHost === host) this.endLease();
      return;
    }
    if (lease_ms < 300 || lease_ms > 5000) return;
    this.leaseHost = host;
    this.leaseEnd_us = this.now_us + lease_ms * 1000;
    this.setLevel('lease', '1');
  }

  private endLease(): void {
    this.leaseHost = undefined;
    this.leaseEnd_us = Number.POSITIVE_INFINITY;
    this.throttle_perMille = 0;
    this.releaseStarter();
    this.setLevel('ignition', '0');
    this.setLevel('lease', '0');
  }

  private releaseStarter(): void {
    this.starterEnd_us = Number.POSITIVE_INFINITY;
    this.setLevel('starter', '0');
  }

  private takeCommand(host: string, id: string, name: string, argument: string): void {
    const pair = `${host} ${id}`;
    let answer = this.answers.find((one) => one.pair === pair);
    if (answer === undefined) {
      const result = this.execute(host, name, argument);
      answer = { pair, kind: result.startsWith('A') ? 'A' : 'R', tail: result.slice(1) };
      if (answer.kind === 'A') this.executed.push(argument === '' ? name : `${name} ${argument}`);
      this.answers = [...this.answers, answer].slice(-answersKept);
    }
    this.send(answer.kind, `${pair}${answer.tail}`);
  }

  /** `A`, or `R` and the reason with its words. */
  private execute(host: string, name: string, argument: string): string {
    const plain = ['IDENTIFY', 'TARE-THRUST', 'TARE-TORQUE', 'RESET-FUEL', 'ZERO-FUEL'].includes(name);
    const switched = ['SERVO', 'IGNITION', 'STARTER', 'SUPPLY', 'FAN'].includes(name);
    if (!plain && !switched && name !== 'THROTTLE') return 'R UNKNOWN';
    const form = plain ? /^$/ : switched ? /^[01]$/ : /^(0|[1-9][0-9]{0,2}|1000)$/;
    if (!form.test(argument)) return 'R ARGUMENT';
    if (!plain && name !== 'FAN' && argument !== '0' && this.leaseHost !== host) {
      return this.leaseHost === undefined ? 'R NO-LEASE' : 'R LEASED';
    }
    return plain ? this.executePlain(name) : this.drive(name, argument);
  }

  private executePlain(name: string): string {
    if (name === 'IDENTIFY') {
      this.sendIdentity();
      this.rowQueue = [...this.rows];
      this.sendInputs();
      return 'A';
    }
    const reading = (key: string) => Number(this.readings.get(key));
    if (name === 'RESET-FUEL') {
      this.fuelZero = reading('burnt');
      return 'A';
    }
    if (reading('n_prop') !== 0) return 'R MOVING';
    const key = name === 'TARE-THRUST' ? 'pull' : name === 'TARE-TORQUE' ? 'moment' : 'flow';
    if (Number.isNaN(reading(key))) return `R FAULT no reading of ${key}`;
    if (key === 'pull') this.thrustZero = reading(key);
    else if (key === 'moment') this.torqueZero = reading(key);
    else this.flowZero = reading(key);
    return 'A';
  }

  private drive(name: string, argument: string): string {
    const on = argument === '1';
    if (on && (name === 'STARTER' || name === 'IGNITION')) {
      if (this.level('stop') !== '1') return 'R STOP-OPEN';
      if (this.level('cage') !== '1') return 'R CAGE-OPEN';
      if (name === 'IGNITION' && this.level('supply') !== '1') return 'R SUPPLY-OFF';
    }
    if (name === 'THROTTLE') {
      if (argument !== '0' && this.level('servo') !== '1') return 'R SUPPLY-OFF';
      this.throttle_perMille = Number(argument);
    } else if (name === 'STARTER' && !on) this.releaseStarter();
    else {
      if (name === 'STARTER') this.starterEnd_us = this.now_us + starterHold_us;
      this.setLevel(name.toLowerCase(), on ? '1' : '0');
    }
    return 'A';
  }
}

/** The function of part 2, over the character codes of `body`. */
function crc16(body: string): number {
  let crc = 0xffff;
  for (const character of body) {
    crc ^= character.charCodeAt(0) << 8;
    for (let bit = 0; bit < 8; bit += 1) crc = (crc & 0x8000 ? (crc << 1) ^ 0x1021 : crc << 1) & 0xffff;
  }
  return crc;
}

function hex(value: number, digits: number): string {
  return value.toString(16).toUpperCase().padStart(digits, '0');
}

function tableRows(): { readonly kind: string; readonly fields: string }[] {
  return [
    ...[...strangerRates_mHz].map(([group, rate_mHz]) => {
      const columns = strangerChannels.filter((one) => one.group === group).length;
      return { kind: 'G', fields: `${group} ${rate_mHz} ${columns}` };
    }),
    ...strangerChannels.map((one, channel) => {
      const place = `${channel} ${one.group} ${one.column} ${one.key}`;
      const scale = `${one.unit} ${one.decimals} ${one.low} ${one.high}`;
      return { kind: 'C', fields: `${place} ${one.quantity} ${scale}` };
    }),
    ...strangerInputs.map((words, input) => ({ kind: 'D', fields: `${input} ${words.join(' ')}` })),
  ];
}

function row(
  group: number,
  column: number,
  key: string,
  quantity: string,
  unit: string,
  decimals: number,
  low: number,
  high: number,
  first: number,
): StrangerChannel {
  return { group, column, key, quantity, unit, decimals, low, high, first };
}
