/**
 * Executes a host's commands (PROTOCOL.md, part 8) and remembers the last 16
 * with their answers, so that a repeated line is answered again and not
 * executed again. Sending the answer is `controller.ts`'s.
 */
import type { HostLine } from '../../shared-core/line/messages.ts';
import type { Outputs, Refusal, SwitchName } from './outputs.ts';
import type { Sensors } from './sensors.ts';

export type CommandLine = Extract<HostLine, { kind: 'command' }>;

export type Reply =
  | { readonly kind: 'accepted'; readonly fields: readonly string[] }
  | { readonly kind: 'refused'; readonly reason: string; readonly words: readonly string[] };

const MEMORY = 16;
const ACCEPTED: Reply = { kind: 'accepted', fields: [] };
const switches: Readonly<Record<string, SwitchName>> = {
  SERVO: 'servo',
  IGNITION: 'ignition',
  SUPPLY: 'supply',
  FAN: 'fan',
};

export class Commands {
  readonly #outputs: Outputs;
  readonly #sensors: Sensors;
  readonly #memory = new Map<string, Reply>();

  constructor(outputs: Outputs, sensors: Sensors) {
    this.#outputs = outputs;
    this.#sensors = sensors;
  }

  forget(): void {
    this.#memory.clear();
  }

  /** `isNew` is false for a command that was remembered and not executed again. */
  answer(line: CommandLine, now_ms: number): { readonly reply: Reply; readonly isNew: boolean } {
    const pair = `${line.host} ${line.id}`;
    const known = this.#memory.get(pair);
    if (known) return { reply: known, isNew: false };
    const reply = this.#execute(line, now_ms);
    this.#memory.set(pair, reply);
    if (this.#memory.size > MEMORY) {
      const oldest = this.#memory.keys().next().value;
      if (oldest !== undefined) this.#memory.delete(oldest);
    }
    return { reply, isNew: true };
  }

  #execute(line: CommandLine, now_ms: number): Reply {
    const { name, args } = line;
    const argument = args[0];
    switch (name) {
      case 'IDENTIFY':
        return args.length === 0 ? ACCEPTED : refused('ARGUMENT');
      case 'TARE-THRUST':
      case 'TARE-TORQUE':
      case 'RESET-FUEL':
      case 'ZERO-FUEL':
        return args.length === 0 ? this.#zero(name) : refused('ARGUMENT');
      case 'THROTTLE': {
        if (args.length !== 1 || argument === undefined || !/^(0|[1-9]\d{0,3})$/.test(argument))
          return refused('ARGUMENT');
        const permille = Number(argument);
        if (permille > 1000) return refused('ARGUMENT');
        const refusal = permille > 0 ? this.#outputs.leaseRefusal(line.host) : null;
        return replyTo(refusal ?? this.#outputs.setThrottle(permille));
      }
      case 'STARTER': {
        if (args.length !== 1 || (argument !== '0' && argument !== '1')) return refused('ARGUMENT');
        if (argument === '0') {
          this.#outputs.releaseStarter();
          return ACCEPTED;
        }
        return replyTo(this.#outputs.leaseRefusal(line.host) ?? this.#outputs.holdStarter(now_ms));
      }
      default: {
        const output = switches[name];
        if (output === undefined) return refused('UNKNOWN');
        if (args.length !== 1 || (argument !== '0' && argument !== '1')) return refused('ARGUMENT');
        const on = argument === '1';
        // The fan needs no lease, either way.
        const refusal = on && output !== 'fan' ? this.#outputs.leaseRefusal(line.host) : null;
        return replyTo(refusal ?? this.#outputs.setSwitch(output, on));
      }
    }
  }

  /** Answers carry the new zero as a scaled integer. */
  #zero(name: 'TARE-THRUST' | 'TARE-TORQUE' | 'RESET-FUEL' | 'ZERO-FUEL'): Reply {
    const sensors = this.#sensors;
    if (name === 'RESET-FUEL') {
      sensors.resetTotal();
      return ACCEPTED;
    }
    if (sensors.speed_rpm > 0) return refused('MOVING');
    switch (name) {
      case 'TARE-THRUST':
        sensors.thrustTare_N = sensors.thrustUntared_N;
        return accepted(sensors.thrustTare_N * 100);
      case 'TARE-TORQUE':
        sensors.torqueTare_Nm = sensors.torqueUntared_Nm;
        return accepted(sensors.torqueTare_Nm * 1000);
      case 'ZERO-FUEL':
        if (!sensors.isFlowSettled) return refused('UNSETTLED');
        sensors.flowZero_Lperh = sensors.flowUnzeroed_Lperh;
        return accepted(sensors.flowZero_Lperh * 1000);
    }
  }
}

function accepted(scaled: number): Reply {
  const whole = Math.round(scaled);
  return { kind: 'accepted', fields: [String(whole === 0 ? 0 : whole)] };
}

function refused(reason: string, words: readonly string[] = []): Reply {
  return { kind: 'refused', reason, words };
}

function replyTo(refusal: Refusal | null): Reply {
  return refusal === null ? ACCEPTED : refused(refusal.reason, refusal.words);
}
