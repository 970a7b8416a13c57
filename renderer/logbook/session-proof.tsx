/** Whether a recording is whole and unaltered, asked for by hand: all of it is read. */
import { useState } from 'react';
import type { SessionProof } from '../../shared-core/bridge/contract.ts';
import { ask, request } from '../app/bridge-client.ts';
import { tellError } from '../app/messages.ts';
import { Button } from '../ui/button.tsx';
import { Progress } from '../ui/progress.tsx';
import { proofWords } from './session-words.ts';

const SHOWN_FINDINGS = 5;

export function SessionWhole({ id }: { readonly id: string }) {
  const [isBusy, setBusy] = useState(false);
  const [proof, setProof] = useState<SessionProof | null>(null);
  const verify = async (): Promise<void> => {
    setBusy(true);
    const done = await request('sessions.verify', { id });
    setBusy(false);
    if (done.ok) setProof(done.value);
    else if (done.error.kind !== 'cancelled') tellError(done.error);
  };
  return (
    <div className="proof">
      <Button small onClick={verify} disabled={isBusy} data-testid="verify">
        Verify
      </Button>
      <div role="status" data-testid="proof">
        {isBusy ? (
          <Progress
            label="Reading all of it"
            value={null}
            onCancel={() => void ask('export.cancel', { id, kind: 'verify' })}
          />
        ) : (
          proof !== null && (
            <>
              <p>
                <b>{proof.isWhole ? 'Whole and unaltered.' : 'Not whole.'}</b> {proofWords(proof)}
              </p>
              {proof.findings.length > 0 && (
                <ul className="reasons">
                  {proof.findings.slice(0, SHOWN_FINDINGS).map((finding) => (
                    <li key={finding}>{finding}</li>
                  ))}
                  {proof.findings.length > SHOWN_FINDINGS && <li>And more.</li>}
                </ul>
              )}
            </>
          )
        )}
      </div>
    </div>
  );
}
