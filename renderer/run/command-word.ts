/** A bench command in words. Pure. */
import type { BenchCommand } from '../../shared-core/line/messages.ts';
import { formatNumber } from '../ui/format.ts';

export function commandWord(command: BenchCommand): string {
  switch (command.name) {
    case 'THROTTLE':
      return command.permille === 0
        ? 'Throttle closed'
        : `Throttle ${formatNumber(command.permille / 10, command.permille % 10 === 0 ? 0 : 1)} %`;
    case 'SERVO':
      return `Servo ${onOff(command.on)}`;
    case 'IGNITION':
      return `Ignition ${onOff(command.on)}`;
    case 'STARTER':
      return command.on ? 'Starter held' : 'Starter let go';
    case 'SUPPLY':
      return `Supply ${onOff(command.on)}`;
    case 'FAN':
      return `Fan ${onOff(command.on)}`;
    case 'IDENTIFY':
      return 'Identity asked';
    case 'TARE-THRUST':
      return 'Tare thrust';
    case 'TARE-TORQUE':
      return 'Tare torque';
    case 'RESET-FUEL':
      return 'Reset fuel totaliser';
    case 'ZERO-FUEL':
      return 'Zero fuel meter';
  }
}

function onOff(on: boolean): string {
  return on ? 'on' : 'off';
}
