/** What was to be seen against what was done, orders, starter, and the course in lines that lead into the replay. */
import type { Debrief, ExpectationOutcome, OrderOutcome, TimelineEntry } from '../../shared-core/training/debrief.ts';
import { formatClock, formatNumber, formatQuantity, NO_VALUE } from '../ui/format.ts';
import { LevelMark } from '../ui/level-mark.tsx';
import { Facts, Section } from '../ui/section.tsx';
import { unbroken } from './training-words.ts';

const kindWords: Readonly<Record<TimelineEntry['kind'], string>> = {
  cause: 'stand',
  'to-see': 'to see',
  alarm: 'alarm',
  act: 'you',
  engine: 'engine',
  slip: 'slip',
  lesson: 'lesson',
};

export interface DebriefCourseProps {
  readonly debrief: Debrief;
  /** Opens the replay some seconds before this time of the lesson. */
  readonly onReplay: (at_s: number) => void;
}

export function DebriefCourse({ debrief, onReplay }: DebriefCourseProps) {
  return (
    <>
      {debrief.expectations.map((each) => (
        <Expected key={each.id} outcome={each} />
      ))}
      {debrief.orders.map((each) => (
        <Order key={each.id} order={each} />
      ))}
      {debrief.limits.length > 0 && <Limits limits={debrief.limits} />}
      {(debrief.starter.attempts.length > 0 || debrief.starter.abuses.length > 0) && (
        <Starter starter={debrief.starter} />
      )}
      <Section title="The course" lead="Each line leads into the recording, a few seconds before it.">
        <ol className="timeline" data-testid="timeline">
          {debrief.timeline.map((entry, i) => (
            // biome-ignore lint/suspicious/noArrayIndexKey: two lines of the same second can be alike, and none moves.
            <li key={i} data-kind={entry.kind}>
              <button
                type="button"
                className="timeline-time"
                onClick={() => onReplay(entry.at_s)}
                aria-label={`Replay from ${formatClock(entry.at_s)}: ${entry.words}`}
              >
                {formatClock(entry.at_s)}
              </button>
              <span className="timeline-kind">
                {entry.level === null ? kindWords[entry.kind] : <LevelMark level={entry.level} size={16} />}
              </span>
              <span>
                {entry.words}
                {entry.detail !== '' && <span className="muted"> {unbroken(entry.detail)}</span>}
              </span>
            </li>
          ))}
        </ol>
      </Section>
    </>
  );
}

function seconds(value: number | null, at_s: number | null): string {
  if (value === null || at_s === null) return 'never';
  return `${formatNumber(value, 1)}\u2009s, at ${formatClock(at_s)}`;
}

function shownWord({ shownAt_s, dueAt_s, actedAt_s }: ExpectationOutcome): string {
  if (shownAt_s !== null) return formatClock(shownAt_s);
  if (dueAt_s === null) return NO_VALUE;
  return actedAt_s === null ? 'never' : 'not before you acted';
}

function Expected({ outcome }: { readonly outcome: ExpectationOutcome }) {
  const { dueAt_s } = outcome;
  return (
    <Section title={outcome.title} data-testid={`expected-${outcome.id}`}>
      <Facts
        facts={[
          { term: 'To be seen', value: unbroken(outcome.sees) },
          { term: 'Right', value: unbroken(outcome.rightAct) },
          { term: 'Went wrong at', value: dueAt_s === null ? 'did not come to it' : formatClock(dueAt_s) },
          { term: 'On the screen at', value: shownWord(outcome) },
          {
            term: 'Noticed after',
            value: `${seconds(outcome.toNotice_s, outcome.noticedAt_s)}${outcome.noticedBy === '' ? '' : `: ${outcome.noticedBy}`}`,
            testId: `noticed-${outcome.id}`,
          },
          {
            term: 'Acted after',
            value: `${seconds(outcome.toAct_s, outcome.actedAt_s)}${outcome.actedBy === '' ? '' : `: ${outcome.actedBy}`}`,
            testId: `acted-${outcome.id}`,
          },
        ]}
      />
    </Section>
  );
}

function Order({ order }: { readonly order: OrderOutcome }) {
  return (
    <Section title={order.title} aside={order.slips === 0 ? 'in order' : `${order.slips} out of order or left out`}>
      <ol className="order-list" data-testid={`order-${order.id}`}>
        {order.acts.map((each) => (
          <li key={each.words} data-slip={each.isSlip}>
            <span>{each.words}</span>
            <span>
              {each.at_s === null ? 'not done' : formatClock(each.at_s)}
              {each.isSlip && each.at_s !== null && ', too early'}
            </span>
          </li>
        ))}
      </ol>
    </Section>
  );
}

function Limits({ limits }: { readonly limits: Debrief['limits'] }) {
  return (
    <Section title="Limits exceeded">
      <ol className="order-list" data-testid="debrief-limits">
        {limits.map((each) => (
          <li key={each.rule}>
            <span>
              <LevelMark level={each.level} size={16} /> {each.title}
            </span>
            <span>
              {formatClock(each.at_s)}, for {formatQuantity(each.over_s, 1, 's')}: as far as{' '}
              {formatQuantity(each.farthest, digitsOf(each.farthest), each.unit)}, limit{' '}
              {formatQuantity(each.limit, digitsOf(each.limit), each.unit)}
            </span>
          </li>
        ))}
      </ol>
    </Section>
  );
}

function digitsOf(value: number): number {
  return Math.abs(value) < 100 ? 1 : 0;
}

function Starter({ starter }: { readonly starter: Debrief['starter'] }) {
  return (
    <Section title="Starter" data-testid="debrief-starter">
      <ol className="order-list">
        {starter.attempts.map((each) => (
          <li key={each.at_s}>
            <span>Attempt at {formatClock(each.at_s)}</span>
            <span>
              {formatNumber(each.cranked_s, 1)}
              {'\u2009s'}
              {each.held_s !== null &&
                each.held_s > each.cranked_s + 0.5 &&
                `, held for ${formatNumber(each.held_s, 1)}\u2009s`}
            </span>
          </li>
        ))}
      </ol>
      {starter.abuses.length > 0 && (
        <ul className="advice-list" data-testid="starter-abuses">
          {starter.abuses.map((each) => (
            <li key={each.at_s + each.words}>{each.words}</li>
          ))}
        </ul>
      )}
    </Section>
  );
}
