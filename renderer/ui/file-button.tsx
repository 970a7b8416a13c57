/** A button that has the person choose one file. The same file again, once it was put right, is a new choice. */
import { useRef } from 'react';
import { Button } from './button.tsx';

export interface FileButtonProps {
  readonly children: string;
  /** Endings and types, as `accept` of a file input takes them. */
  readonly accept: string;
  /** What is chosen, for readers of the screen. */
  readonly label: string;
  readonly title?: string;
  readonly onFile: (file: File) => void;
  /** Of the button, and of the input behind it. */
  readonly testId: string;
  readonly fileTestId: string;
}

export function FileButton({ children, accept, label, title, onFile, testId, fileTestId }: FileButtonProps) {
  const input = useRef<HTMLInputElement>(null);
  return (
    <>
      <Button
        small
        onClick={() => input.current?.click()}
        {...(title === undefined ? {} : { title })}
        data-testid={testId}
      >
        {children}
      </Button>
      <input
        ref={input}
        type="file"
        accept={accept}
        className="sr-only"
        tabIndex={-1}
        aria-label={label}
        onChange={(event) => {
          const file = event.target.files?.[0];
          if (file !== undefined) onFile(file);
          event.target.value = '';
        }}
        data-testid={fileTestId}
      />
    </>
  );
}
