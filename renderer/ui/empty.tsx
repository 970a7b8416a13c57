/** What stands where nothing is: says what to do next, and offers it. */
import type { ReactNode } from 'react';

export interface EmptyProps {
  readonly title: string;
  readonly children?: ReactNode;
  /** The button that does it. */
  readonly action?: ReactNode;
  readonly 'data-testid'?: string;
}

export function Empty({ title, children, action, ...rest }: EmptyProps) {
  return (
    <div className="empty" {...rest}>
      <p className="empty-title">{title}</p>
      {children && <p>{children}</p>}
      {action}
    </div>
  );
}
