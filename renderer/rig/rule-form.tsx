/** Fields of one limit, by its kind (`rule-fields.ts`). It judges nothing: findings come from outside, by field. */
import { useEffect, useState } from 'react';
import type { Channel } from '../../shared-core/channels/channel.ts';
import type { LimitRule } from '../../shared-core/limits/rules.ts';
import type { DiscreteInput } from '../../shared-core/pipeline-contract.ts';
import { inputTitle } from '../run/input-words.ts';
import { Field } from '../ui/field.tsx';
import { type FieldSpec, fieldOf, fieldsOf, unitOf, withField } from './rule-fields.ts';

export interface RuleFormProps {
  readonly rule: LimitRule;
  readonly onChange: (rule: LimitRule) => void;
  readonly channels: readonly Channel[];
  readonly inputs: readonly DiscreteInput[];
  readonly part: FieldSpec['part'];
  /** What is wrong, by field. */
  readonly errors: ReadonlyMap<string, string>;
  /** Each control gets `${testId}-${field}`. */
  readonly testId: string;
}

export function RuleForm({ rule, part, ...rest }: RuleFormProps) {
  return fieldsOf[rule.kind]
    .filter((spec) => spec.part === part)
    .map((spec) => <RuleField key={spec.key} spec={spec} rule={rule} {...rest} />);
}

type RuleFieldProps = Omit<RuleFormProps, 'part'> & { readonly spec: FieldSpec };

function RuleField({ spec, rule, onChange, channels, inputs, errors, testId }: RuleFieldProps) {
  const value = fieldOf(rule, spec.key);
  const error = errors.get(spec.key);
  const said = error === undefined ? {} : { error };
  const change = (next: unknown): void => onChange(withField(rule, spec, next));
  const id = `${testId}-${spec.key}`;
  switch (spec.as) {
    case 'number': {
      const unit = unitOf(rule, spec.unit, new Map(channels.map((each) => [each.key, each])));
      return (
        <NumberField
          label={unit === '' ? spec.label : `${spec.label}, ${unit}`}
          value={typeof value === 'number' ? value : NaN}
          onChange={change}
          testId={id}
          {...said}
        />
      );
    }
    case 'channel':
      return (
        <Field label={spec.label} {...said}>
          {(ids) => <ChannelSelect ids={ids} value={String(value)} onChange={change} channels={channels} testId={id} />}
        </Field>
      );
    case 'pair': {
      const pair = value as readonly [string, string];
      return [0, 1].map((i) => (
        <Field key={i} label={i === 0 ? spec.label : 'With'} {...(i === 0 ? said : {})}>
          {(ids) => (
            <ChannelSelect
              ids={ids}
              value={pair[i] ?? ''}
              onChange={(key) => change(i === 0 ? [key, pair[1]] : [pair[0], key])}
              channels={channels}
              testId={`${id}-${i}`}
            />
          )}
        </Field>
      ));
    }
    case 'channels':
      return (
        <ChannelChecks
          label={spec.label}
          chosen={value as readonly string[]}
          onChange={change}
          channels={channels}
          testId={id}
          error={error}
        />
      );
    case 'input':
      return (
        <Field label={spec.label} {...said}>
          {(ids) => (
            <select
              {...ids}
              className="select"
              value={String(value)}
              onChange={(e) => change(e.target.value)}
              data-testid={id}
            >
              {withOther(
                inputs.map((each) => each.key),
                String(value),
              ).map((key) => (
                <option key={key} value={key}>
                  {inputTitle(key)}
                </option>
              ))}
            </select>
          )}
        </Field>
      );
    case 'choice': {
      const words = rule.kind === 'input' ? inputs.find((each) => each.key === rule.input)?.words : undefined;
      return (
        <Field label={spec.label} {...said}>
          {(ids) => (
            <select
              {...ids}
              className="select"
              value={String(value)}
              onChange={(e) => change(spec.options.find((each) => String(each.value) === e.target.value)?.value)}
              data-testid={id}
            >
              {spec.options.map((each) => (
                <option key={each.value} value={String(each.value)}>
                  {(typeof each.value === 'number' ? words?.[each.value] : undefined) || each.text}
                </option>
              ))}
            </select>
          )}
        </Field>
      );
    }
  }
}

/** A number that may be missing while it is written: NaN then, and told as such. */
export function NumberField(props: {
  readonly label: string;
  readonly value: number;
  readonly onChange: (value: number) => void;
  readonly testId: string;
  readonly error?: string;
}) {
  const [text, setText] = useState(textOf(props.value));
  // Another value from outside replaces what stands there; the same number written otherwise (7e3) does not.
  useEffect(() => {
    setText((now) => (Object.is(numberOf(now), props.value) ? now : textOf(props.value)));
  }, [props.value]);
  return (
    <Field label={props.label} {...(props.error === undefined ? {} : { error: props.error })}>
      {(ids) => (
        <input
          {...ids}
          className="input"
          type="number"
          step="any"
          value={text}
          onChange={(event) => {
            setText(event.target.value);
            props.onChange(numberOf(event.target.value));
          }}
          data-testid={props.testId}
        />
      )}
    </Field>
  );
}

function numberOf(text: string): number {
  return text.trim() === '' ? NaN : Number(text);
}
function textOf(value: number): string {
  return Number.isNaN(value) ? '' : String(value);
}

function ChannelSelect(props: {
  readonly ids: object;
  readonly value: string;
  readonly onChange: (key: string) => void;
  readonly channels: readonly Channel[];
  readonly testId: string;
}) {
  const keys = withOther(
    props.channels.map((each) => each.key),
    props.value,
  );
  return (
    <select
      {...props.ids}
      className="select"
      value={props.value}
      onChange={(event) => props.onChange(event.target.value)}
      data-testid={props.testId}
    >
      {keys.map((key) => (
        <option key={key} value={key}>
          {props.channels.find((each) => each.key === key)?.label ?? `${key} (this bench has none)`}
        </option>
      ))}
    </select>
  );
}

function ChannelChecks(props: {
  readonly label: string;
  readonly chosen: readonly string[];
  readonly onChange: (keys: readonly string[]) => void;
  readonly channels: readonly Channel[];
  readonly testId: string;
  readonly error: string | undefined;
}) {
  const keys = props.channels.map((each) => each.key);
  const all = [...keys, ...props.chosen.filter((key) => !keys.includes(key))];
  return (
    <fieldset className="channel-checks" data-testid={props.testId}>
      <legend>{props.label}</legend>
      <div>
        {all.map((key) => (
          <label key={key} className="check">
            <input
              type="checkbox"
              checked={props.chosen.includes(key)}
              onChange={(event) =>
                props.onChange(
                  event.target.checked ? [...props.chosen, key] : props.chosen.filter((each) => each !== key),
                )
              }
              data-testid={`${props.testId}-${key}`}
            />
            {props.channels.find((each) => each.key === key)?.label ?? `${key} (not on this bench)`}
          </label>
        ))}
      </div>
      {props.error !== undefined && (
        <p className="field-error" role="alert">
          {props.error}
        </p>
      )}
    </fieldset>
  );
}

/** A key that this bench does not have stays what it is until somebody chooses another. */
function withOther(keys: readonly string[], value: string): readonly string[] {
  return value === '' || keys.includes(value) ? keys : [...keys, value];
}
