/** Every rule of the score in plain words, with what it brought or cost, and why. */
import type { RuleOutcome } from '../../shared-core/training/debrief.ts';
import { formatNumber } from '../ui/format.ts';
import { Section } from '../ui/section.tsx';
import { type Column, Table } from '../ui/table.tsx';
import { unbroken } from './training-words.ts';

const columns: readonly Column<RuleOutcome>[] = [
  {
    key: 'rule',
    title: 'Rule',
    cell: (rule) => (
      <>
        <span>{unbroken(rule.words)}</span>
        <span className="rule-because" data-failed={rule.hasFailed}>
          {rule.hasFailed && <b>Fails the lesson. </b>}
          {unbroken(rule.because)}
        </span>
      </>
    ),
  },
  {
    key: 'points',
    title: 'Points',
    isNumber: true,
    width: '92px',
    cell: (rule) => (
      <span className="rule-points" data-testid={`rule-${rule.id}`} data-points={rule.points}>
        {rule.kind === 'gained' ? `${formatNumber(rule.points, 0)} of ${rule.of}` : formatNumber(rule.points, 0)}
      </span>
    ),
  },
];

export function DebriefRules({ rules }: { readonly rules: readonly RuleOutcome[] }) {
  return (
    <Section title="How the score came about">
      <Table
        caption="Rules of the score with what each brought"
        columns={columns}
        rows={rules}
        keyOf={(rule) => rule.id}
        data-testid="debrief-rules"
      />
    </Section>
  );
}
