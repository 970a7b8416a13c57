/** What every limit has whatever its kind: name, level, when it is judged, and what the operator must know. */
import type { AdvisoryPlan } from '../../shared-core/advisory/plans.ts';
import { type AdvisoryCause, alarmLevels, type LimitRule, runStates } from '../../shared-core/limits/rules.ts';
import { runStateWords } from '../app/run-state-words.ts';
import { Field } from '../ui/field.tsx';
import { levelWords } from '../ui/level-mark.tsx';
import { NumberField } from './rule-form.tsx';

export interface RuleBaseFormProps {
  readonly rule: LimitRule;
  readonly onChange: (rule: LimitRule) => void;
  readonly plans: readonly AdvisoryPlan[];
  readonly errors: ReadonlyMap<string, string>;
}

export function RuleBaseForm({ rule, onChange, plans, errors }: RuleBaseFormProps) {
  const set = (part: Partial<LimitRule>): void => onChange({ ...rule, ...part } as LimitRule);
  const said = (field: string): { error?: string } => {
    const error = errors.get(field);
    return error === undefined ? {} : { error };
  };
  return (
    <>
      <fieldset className="rule-part">
        <legend>Alarm</legend>
        <div className="rule-fields">
          <Field label="Name" {...said('title')}>
            {(ids) => (
              <input
                {...ids}
                className="input"
                maxLength={200}
                value={rule.title}
                onChange={(event) => set({ title: event.target.value })}
                data-testid="rule-title"
              />
            )}
          </Field>
          <Field label="Level" {...said('level')}>
            {(ids) => (
              <select
                {...ids}
                className="select"
                value={rule.level}
                onChange={(event) => {
                  const level = alarmLevels.find((each) => each === event.target.value) ?? rule.level;
                  // A plan opens at level abort only.
                  set(level === 'abort' || rule.kind === 'cool-down' ? { level } : { level, advisory: undefined });
                }}
                data-testid="rule-level"
              >
                {alarmLevels.map((level) => (
                  <option key={level} value={level}>
                    {levelWords[level]}
                  </option>
                ))}
              </select>
            )}
          </Field>
          <Field label="Opens the advisory" {...said('advisory')}>
            {(ids) => (
              <select
                {...ids}
                className="select"
                value={rule.advisory ?? ''}
                disabled={rule.level !== 'abort' && rule.kind !== 'cool-down'}
                onChange={(event) =>
                  set({ advisory: event.target.value === '' ? undefined : (event.target.value as AdvisoryCause) })
                }
                data-testid="rule-advisory"
              >
                <option value="">none</option>
                {plans.map((plan) => (
                  <option key={plan.cause} value={plan.cause}>
                    {plan.title}
                  </option>
                ))}
              </select>
            )}
          </Field>
          <label className="check">
            <input
              type="checkbox"
              checked={rule.latch}
              onChange={(event) => set({ latch: event.target.checked })}
              data-testid="rule-latch"
            />{' '}
            Stays until reset by hand
          </label>
        </div>
      </fieldset>
      <fieldset className="rule-part">
        <legend>Judged when the engine is (none ticked: always)</legend>
        <div className="rule-fields">
          <div className="rule-states">
            {runStates.map((state) => (
              <label key={state} className="check">
                <input
                  type="checkbox"
                  checked={rule.when.includes(state)}
                  onChange={(event) =>
                    set({
                      when: runStates.filter((each) =>
                        each === state ? event.target.checked : rule.when.includes(each),
                      ),
                    })
                  }
                  data-testid={`rule-when-${state}`}
                />{' '}
                {runStateWords[state].toLowerCase()}
              </label>
            ))}
          </div>
          <NumberField
            label="… once for, s"
            value={rule.whenFor_s ?? NaN}
            onChange={(value) => set({ whenFor_s: Number.isNaN(value) ? undefined : value })}
            testId="rule-whenFor_s"
            {...said('whenFor_s')}
          />
        </div>
      </fieldset>
      <fieldset className="rule-part">
        <legend>What the operator must know</legend>
        <div className="rule-fields rule-words">
          <Field label="If nobody acts" {...said('consequence')}>
            {(ids) => (
              <input
                {...ids}
                className="input"
                maxLength={200}
                value={rule.consequence}
                onChange={(event) => set({ consequence: event.target.value })}
                data-testid="rule-consequence"
              />
            )}
          </Field>
          <Field label="What to do" {...said('operatorAction')}>
            {(ids) => (
              <input
                {...ids}
                className="input"
                maxLength={200}
                value={rule.operatorAction}
                onChange={(event) => set({ operatorAction: event.target.value })}
                data-testid="rule-operatorAction"
              />
            )}
          </Field>
          <NumberField
            label="Time to act, s"
            value={rule.timeToAct_s}
            onChange={(value) => set({ timeToAct_s: value })}
            testId="rule-timeToAct_s"
            {...said('timeToAct_s')}
          />
        </div>
      </fieldset>
    </>
  );
}
