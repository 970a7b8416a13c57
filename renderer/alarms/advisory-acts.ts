/** The acts that a step of an advisory can offer, as commands and in words. */
import type { AdvisoryStep } from '../../shared-core/advisory/plans.ts';
import type { BenchCommand } from '../../shared-core/line/messages.ts';

export type AdvisoryAct = NonNullable<AdvisoryStep['act']>;

export const actWords: Readonly<Record<AdvisoryAct, string>> = {
  'throttle-closed': 'Throttle closed',
  'ignition-off': 'Ignition off',
  'fan-on': 'Fan on',
  'starter-off': 'Starter off',
};

export function actCommand(act: AdvisoryAct): BenchCommand {
  switch (act) {
    case 'throttle-closed':
      return { name: 'THROTTLE', permille: 0 };
    case 'ignition-off':
      return { name: 'IGNITION', on: false };
    case 'fan-on':
      return { name: 'FAN', on: true };
    case 'starter-off':
      return { name: 'STARTER', on: false };
  }
}
