/** From what somebody chose to connect to the source of bytes that stands for it. */
import { err, ok, type Result } from '../../shared-core/base/result.ts';
import type { BridgeError } from '../../shared-core/bridge/contract.ts';
import type { LineProfile } from '../../shared-core/line/profile/line-profile.ts';
import type { RigSheet } from '../../shared-core/rig/rig-sheet.ts';
import { isScenarioId, scenarios } from '../../simulator/scenarios.ts';
import type { ByteSource } from './byte-source.ts';
import { PortSource } from './serial/port-source.ts';
import { simulatedRigOf } from './simulated-rig.ts';
import { SimulatorSource } from './simulator-source.ts';

export type SourceChoice =
  | { readonly kind: 'port'; readonly path: string; readonly baud: number; readonly profile?: boolean | undefined }
  | { readonly kind: 'simulator'; readonly scenario: string; readonly seed: number; readonly speed: number }
  | { readonly kind: 'none' };

export interface ChosenSource {
  readonly source: ByteSource;
  /** Of the rig sheet, for a bench with foreign lines. */
  readonly profile?: LineProfile;
}

/** @returns null for none: let go of the present one */
export function sourceOf(
  choice: SourceChoice,
  rig: RigSheet,
  log: (line: string) => void,
): Result<ChosenSource | null, BridgeError> {
  switch (choice.kind) {
    case 'none':
      return ok(null);
    case 'port': {
      const source = new PortSource({ path: choice.path, baud: choice.baud });
      if (choice.profile !== true) return ok({ source });
      if (rig.profile == null) {
        return err({
          kind: 'invalid',
          sentence: 'The rig sheet has no profile for foreign lines.',
          remedy: 'Set one up in Rig: listen to the port, look at what is proposed, and save.',
        });
      }
      return ok({ source, profile: rig.profile });
    }
    case 'simulator':
      return simulatorOf(choice, rig, log);
  }
}

function simulatorOf(
  { scenario, seed, speed }: Extract<SourceChoice, { kind: 'simulator' }>,
  rig: RigSheet,
  log: (line: string) => void,
): Result<ChosenSource, BridgeError> {
  if (!isScenarioId(scenario)) {
    return err({
      kind: 'not-found',
      sentence: `There is no scenario "${scenario}".`,
      remedy: 'Choose one from the list.',
    });
  }
  const simulated = simulatedRigOf(rig);
  if (simulated.sentence === '') {
    return ok({ source: new SimulatorSource({ scenario, seed, speed, rig: simulated.rig }) });
  }
  log(`the demo rig is simulated in place of the sheet's: ${simulated.sentence}`);
  const name = `${scenarios[scenario].title}, demo rig`;
  return ok({ source: new SimulatorSource({ scenario, seed, speed, rig: simulated.rig, name }) });
}
