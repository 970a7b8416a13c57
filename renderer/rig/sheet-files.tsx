/**
 * A rig sheet as one JSON file: out to the person's downloads, and in again. An
 * import is read whole before anything is offered: with a finding it says
 * where and what, and nothing of it is taken.
 */
import { useState } from 'react';
import type { Result } from '../../shared-core/base/result.ts';
import { compareSheets } from '../../shared-core/rig/compare-sheets.ts';
import { importRigSheet } from '../../shared-core/rig/rig-schema.ts';
import type { RigSheet } from '../../shared-core/rig/rig-sheet.ts';
import { Button } from '../ui/button.tsx';
import { FileButton } from '../ui/file-button.tsx';
import { Section } from '../ui/section.tsx';
import { fileNameOf, fileTextOf } from './new-sheet.ts';
import { SaveBar } from './save-bar.tsx';
import { asEditOf } from './sheet-store.ts';

interface Taken {
  readonly name: string;
  readonly read: Result<RigSheet, readonly string[]>;
}

const SHOWN_FINDINGS = 12;

export function SheetFiles({ sheet }: { readonly sheet: RigSheet }) {
  const [taken, setTaken] = useState<Taken | null>(null);
  const take = async (file: File): Promise<void> => {
    setTaken({ name: file.name, read: importRigSheet(await file.text()) });
  };
  return (
    <Section
      title="As a file"
      lead="One JSON file holds the whole sheet. Its schema is published with the program."
      data-testid="sheet-files"
    >
      <div className="sheet-files">
        <Button small onClick={() => download(fileNameOf(sheet), fileTextOf(sheet))} data-testid="sheet-export">
          Export version {sheet.version}
        </Button>
        <FileButton
          accept=".json,application/json"
          label="Rig sheet file to import"
          onFile={(file) => void take(file)}
          testId="sheet-import"
          fileTestId="sheet-file"
        >
          Import…
        </FileButton>
      </div>
      {taken !== null && !taken.read.ok && (
        <div className="import-refused" role="alert" data-testid="import-refused">
          <p>
            <b>{taken.name} was not taken, and nothing was changed.</b> Put right what is named, then import it again:
          </p>
          <ul>
            {taken.read.error.slice(0, SHOWN_FINDINGS).map((finding) => (
              <li key={finding}>
                <code>{finding}</code>
              </li>
            ))}
          </ul>
          {taken.read.error.length > SHOWN_FINDINGS && <p>And {taken.read.error.length - SHOWN_FINDINGS} more.</p>}
        </div>
      )}
      {taken?.read.ok && (
        <ImportOffer
          key={taken.name}
          present={sheet}
          name={taken.name}
          imported={taken.read.value}
          onDone={() => setTaken(null)}
        />
      )}
    </Section>
  );
}

function ImportOffer({
  present,
  name,
  imported,
  onDone,
}: {
  readonly present: RigSheet;
  readonly name: string;
  readonly imported: RigSheet;
  readonly onDone: () => void;
}) {
  const isSameRig = imported.id === present.id;
  const differences = isSameRig ? compareSheets(present, imported) : [];
  return (
    <div className="import-offer" data-testid="import-offer">
      <p role="status">
        <b>{name} is a good sheet:</b> {imported.name}, version {imported.version}, {imported.rules.length} limits,{' '}
        {imported.checklists.length} checklists, {imported.calibrationRecords?.length ?? 0} calibration records.{' '}
        {isSameRig
          ? differences.length === 0
            ? 'It says the same as the present one.'
            : `It differs from the present one in ${differences.length} ${differences.length === 1 ? 'place' : 'places'}.`
          : `It is another rig, and takes the place of ${present.name}, whose versions are kept.`}
      </p>
      {differences.length > 0 && (
        <ul className="reasons">
          {differences.slice(0, 8).map((each) => (
            <li key={`${each.kind} ${each.path}`}>{each.words}</li>
          ))}
          {differences.length > 8 && <li>And {differences.length - 8} more.</li>}
        </ul>
      )}
      <SaveBar
        next={isSameRig && differences.length === 0 ? null : asEditOf(present, imported)}
        change={`Imported from ${name}.`}
        onSaved={onDone}
        onLeave={onDone}
        testId="import"
      />
    </div>
  );
}

function download(name: string, text: string): void {
  const href = URL.createObjectURL(new Blob([text], { type: 'application/json' }));
  const link = document.createElement('a');
  link.href = href;
  link.download = name;
  link.click();
  // After the browser has begun to read it.
  setTimeout(() => URL.revokeObjectURL(href), 10_000);
}
