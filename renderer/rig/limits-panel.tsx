/** The limits in force: every rule of the rig sheet, gravest first, with what happens and what the operator does. */
import { alarmLevels, type LimitRule } from '../../shared-core/limits/rules.ts';
import type { DiscreteInput } from '../../shared-core/pipeline-contract.ts';
import { useStream } from '../app/stream-store.ts';
import { Empty } from '../ui/empty.tsx';
import { LevelMark } from '../ui/level-mark.tsx';
import { durationWords, HARD_WIRED_SENTENCE, needsHardWiredTrip, ruleWords } from './rule-words.ts';

const noRules: readonly LimitRule[] = [];
const noInputs: readonly DiscreteInput[] = [];

export function LimitsPanel() {
  const rules = useStream('live', (s) => s.layout?.rig.rules ?? noRules);
  const byKey = useStream('live', (s) => s.byKey);
  const inputs = useStream('live', (s) => s.snapshot?.inputs ?? noInputs);
  if (rules.length === 0) {
    return (
      <Empty title="No limits" data-testid="no-limits">
        This rig sheet holds no limit rules, so nothing is judged. Do not run an engine on it.
      </Empty>
    );
  }
  const inOrder = [...rules].sort((a, b) => alarmLevels.indexOf(b.level) - alarmLevels.indexOf(a.level));
  return (
    <>
      <p className="panel-lead">
        {rules.length} rules. A sensor that fails counts as over its limit. What a limit means and when it trips is in
        the rig sheet; here it is shown, not changed.
      </p>
      <table className="table limit-table" data-testid="limit-table">
        <caption className="sr-only">Limits in force, gravest first</caption>
        <thead>
          <tr>
            <th scope="col">Level</th>
            <th scope="col">Limit</th>
            <th scope="col">Trips</th>
            <th scope="col">Resets</th>
            <th scope="col">Judged</th>
            <th scope="col">If nobody acts, and what to do</th>
            <th scope="col" className="number">
              Time to act
            </th>
          </tr>
        </thead>
        <tbody>
          {inOrder.map((rule) => {
            const words = ruleWords(rule, byKey, inputs);
            return (
              <tr key={rule.id} data-testid={`limit-${rule.id}`}>
                <td>
                  <LevelMark level={rule.level} withWord />
                </td>
                <th scope="row">
                  {rule.title}
                  <span className="muted below">{words.watches}</span>
                  {rule.latch && <span className="below">latched until reset by hand</span>}
                </th>
                <td>{words.trips}</td>
                <td>{words.resets}</td>
                <td>{words.judged}</td>
                <td>
                  {rule.consequence}
                  <span className="below">
                    <b>{rule.operatorAction}</b>
                  </span>
                  {needsHardWiredTrip(rule) && (
                    <span className="hard-wired" data-testid={`hard-wired-${rule.id}`}>
                      {HARD_WIRED_SENTENCE}
                    </span>
                  )}
                </td>
                <td className="number">{durationWords(rule.timeToAct_s)}</td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </>
  );
}
