/** A button of at least 44 px. `tone` says how it stands out; it never looks like a stop control. */
import type { ButtonHTMLAttributes, Ref } from 'react';

export interface ButtonProps extends ButtonHTMLAttributes<HTMLButtonElement> {
  /** `plain` outlined (the usual one), `solid` for the one thing to do next, `quiet` without a border. */
  readonly tone?: 'plain' | 'solid' | 'quiet';
  /** 32 px, only where nothing runs (lists, dialogs, settings). */
  readonly small?: boolean;
  readonly ref?: Ref<HTMLButtonElement>;
}

export function Button({ tone = 'plain', small = false, className, type = 'button', ...rest }: ButtonProps) {
  return <button {...rest} type={type} className={`button ${tone}${small ? ' small' : ''} ${className ?? ''}`} />;
}
