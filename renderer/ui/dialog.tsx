/**
 * A modal dialog on the browser's own <dialog>: focus kept inside, Escape
 * closes. It steps aside while an abort advisory is open, because nothing may
 * stand between the operator and the band.
 */
import { type ReactNode, useEffect, useId, useRef } from 'react';
import { useIsAdvisoryOpen } from '../alarms/advisory-sight.ts';

export interface DialogProps {
  readonly title: string;
  readonly isOpen: boolean;
  /** Escape or the close button; leave out for a dialog that must be answered. */
  readonly onClose?: () => void;
  readonly children: ReactNode;
  /** Buttons, at the foot. */
  readonly foot?: ReactNode;
  readonly 'data-testid'?: string;
}

export function Dialog({ title, isOpen, onClose, children, foot, ...rest }: DialogProps) {
  const ref = useRef<HTMLDialogElement>(null);
  const titleId = useId();
  const isAside = useIsAdvisoryOpen();
  const isShown = isOpen && !isAside;

  useEffect(() => {
    const dialog = ref.current;
    if (!dialog) return;
    if (isShown && !dialog.open) dialog.showModal();
    if (!isShown && dialog.open) dialog.close();
  }, [isShown]);

  if (!isOpen) return null;
  return (
    <dialog
      {...rest}
      ref={ref}
      className="dialog"
      aria-labelledby={titleId}
      onCancel={(e) => {
        e.preventDefault();
        onClose?.();
      }}
    >
      <h2 id={titleId}>{title}</h2>
      <div className="dialog-body">{children}</div>
      {foot && <div className="dialog-foot">{foot}</div>}
    </dialog>
  );
}
