/** A question before an act that cannot be taken back: what will happen, and two answers. */
import type { ReactNode } from 'react';
import { Button } from './button.tsx';
import { Dialog } from './dialog.tsx';

export interface ConfirmProps {
  readonly title: string;
  readonly isOpen: boolean;
  /** What it does, as a verb: "Disconnect all the same". */
  readonly actText: string;
  readonly onAct: () => void;
  readonly onClose: () => void;
  readonly children: ReactNode;
  readonly 'data-testid'?: string;
}

export function Confirm({ title, isOpen, actText, onAct, onClose, children, ...rest }: ConfirmProps) {
  return (
    <Dialog
      {...rest}
      title={title}
      isOpen={isOpen}
      onClose={onClose}
      foot={
        <>
          <Button onClick={onClose} autoFocus>
            Leave it as it is
          </Button>
          <Button
            data-testid="confirm"
            onClick={() => {
              onClose();
              onAct();
            }}
          >
            {actText}
          </Button>
        </>
      }
    >
      {children}
    </Dialog>
  );
}
