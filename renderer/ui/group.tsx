/** Controls that belong together, named for the screen reader. Layout comes from `className`. */
import type { ReactNode } from 'react';

export interface GroupProps {
  readonly label: string;
  readonly className?: string;
  readonly children: ReactNode;
}

export function Group({ label, className, children }: GroupProps) {
  return (
    <fieldset className={`group ${className ?? ''}`}>
      <legend className="sr-only">{label}</legend>
      {children}
    </fieldset>
  );
}
