/** A part of a place: heading, what stands beside it, a hairline above. */
import { type ReactNode, useId } from 'react';
import './parts.css';

export interface SectionProps {
  readonly title: string;
  /** One line under the heading. */
  readonly lead?: ReactNode;
  /** At the right of the heading. */
  readonly aside?: ReactNode;
  readonly children: ReactNode;
  readonly 'data-testid'?: string;
}

export function Section({ title, lead, aside, children, ...rest }: SectionProps) {
  const id = useId();
  return (
    <section className="section" aria-labelledby={id} {...rest}>
      <div className="section-head">
        <h2 id={id}>{title}</h2>
        {aside && <div className="section-aside">{aside}</div>}
      </div>
      {lead && <p className="section-lead">{lead}</p>}
      {children}
    </section>
  );
}

export interface Fact {
  readonly term: string;
  readonly value: ReactNode;
  readonly testId?: string;
}

/** Terms with their values, one line each. */
export function Facts({ facts }: { readonly facts: readonly Fact[] }) {
  return (
    <dl className="facts">
      {facts.map((f) => (
        <div key={f.term}>
          <dt>{f.term}</dt>
          <dd data-testid={f.testId}>{f.value}</dd>
        </div>
      ))}
    </dl>
  );
}
