/**
 * What the simulated person at the stand does, and what breaks when, as data.
 * The person stands back for good as soon as a host takes the lease; faults
 * come regardless. The scenarios themselves are in `scenarios/`.
 */
import { type Scenario, type ScenarioId, scenarioIds } from './scenarios/definition.ts';
import { healthyScenarios } from './scenarios/healthy.ts';
import { troubledScenarios } from './scenarios/troubled.ts';

export {
  type InitialState,
  type Scenario,
  type ScenarioId,
  type StandAction,
  scenarioIds,
  type TimedAction,
  type TimedFault,
} from './scenarios/definition.ts';

const all: Readonly<Record<ScenarioId, Scenario>> = { ...healthyScenarios, ...troubledScenarios };

/** In the order in which they are offered. */
export const scenarios: Readonly<Record<ScenarioId, Scenario>> = Object.fromEntries(
  scenarioIds.map((id) => [id, all[id]]),
) as Record<ScenarioId, Scenario>;

export function isScenarioId(text: string): text is ScenarioId {
  return (scenarioIds as readonly string[]).includes(text);
}
