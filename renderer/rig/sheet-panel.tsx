/**
 * The rig sheet as saved last: engine, propeller, stand, site, fuel, cautions;
 * that the demo is invented; and the ways to edit, copy, begin anew, compare,
 * export and import.
 */
import { useEffect, useState } from 'react';
import type { RigSheet } from '../../shared-core/rig/rig-sheet.ts';
import { copiedSheet } from '../../shared-core/rig/sheet-versions.ts';
import { signedOn } from '../app/settings.ts';
import { Button } from '../ui/button.tsx';
import { Empty } from '../ui/empty.tsx';
import { formatNumber, formatQuantity } from '../ui/format.ts';
import { Facts, Section } from '../ui/section.tsx';
import { emptySheet, idFor } from './new-sheet.ts';
import { SheetTold } from './save-bar.tsx';
import { SheetEditor } from './sheet-editor.tsx';
import { SheetFiles } from './sheet-files.tsx';
import { loadSheet, useSavedSheet } from './sheet-store.ts';
import { SheetVersions } from './sheet-versions.tsx';

export function SheetPanel() {
  const rig = useSavedSheet((s) => s.sheet);
  const inForce = useSavedSheet((s) => s.inForce);
  const [edited, setEdited] = useState<{ readonly sheet: RigSheet; readonly isNew: boolean } | null>(null);
  useEffect(() => void loadSheet(), []);
  if (rig === null) return <Empty title="Waiting for the rig sheet">It comes with the first word from the host.</Empty>;
  if (edited !== null) return <SheetEditor {...edited} onDone={() => setEdited(null)} />;
  const { engine, propeller, site, fuel, runDetection } = rig;
  const stand = rig.stand ?? null;
  const copy = (): RigSheet => {
    const name = `${rig.name}, copy`;
    return copiedSheet(rig, { id: idFor(name, [rig.id]), name }, signedOn(), Date.now());
  };
  return (
    <div className="sheet" data-testid="rig-sheet">
      <p className="panel-lead">
        <b>{rig.name}</b>, version {rig.version}
        {inForce !== null && inForce !== rig.version && <> ({inForce} is in force)</>}. Every session keeps the sheet
        that it ran with.
      </p>
      <div className="sheet-acts">
        <Button tone="solid" onClick={() => setEdited({ sheet: rig, isNew: false })} data-testid="sheet-edit">
          Edit
        </Button>
        <Button onClick={() => setEdited({ sheet: copy(), isNew: true })} data-testid="sheet-copy">
          Copy as a new rig
        </Button>
        <Button
          onClick={() => setEdited({ sheet: emptySheet(newId(rig.id), signedOn(), Date.now()), isNew: true })}
          data-testid="sheet-new"
        >
          Begin a new rig
        </Button>
      </div>
      <SheetTold />
      {rig.isDemo && (
        <p className="demo-notice" data-testid="demo-notice">
          <b>Invented for demonstration.</b> Engine, propeller, site and limits of this rig do not exist. The limits of
          a real engine come from its maker.
        </p>
      )}
      <div className="sheet-columns">
        <Section title="Engine">
          <Facts
            facts={[
              { term: 'Engine', value: engine.name },
              { term: 'Works in', value: `${engine.strokes} strokes` },
              { term: 'Cylinders', value: engine.cylinders },
              { term: 'Displacement', value: formatQuantity(engine.displacement_cm3, 0, 'cm³') },
              { term: 'Idle', value: formatQuantity(engine.idleSpeed_rpm, 0, 'rpm') },
              { term: 'Rated', value: formatQuantity(engine.ratedSpeed_rpm, 0, 'rpm') },
            ]}
          />
        </Section>
        <Section title="Propeller">
          <Facts
            facts={[
              { term: 'Propeller', value: propeller.name },
              { term: 'Diameter', value: formatQuantity(propeller.diameter_m * 1000, 0, 'mm') },
              { term: 'Pitch', value: formatQuantity(propeller.pitch_m * 1000, 0, 'mm') },
              { term: 'Blades', value: propeller.blades },
            ]}
          />
        </Section>
        <Section title="Fuel and site">
          <Facts
            facts={[
              { term: 'Fuel', value: fuel.name },
              { term: 'Petrol at 15 °C', value: formatQuantity(fuel.density15_kgPerm3, 0, 'kg/m³') },
              { term: 'Oil at 15 °C', value: formatQuantity(fuel.oilDensity15_kgPerm3, 0, 'kg/m³') },
              { term: 'Petrol to oil', value: fuel.mixRatio > 0 ? `${formatNumber(fuel.mixRatio, 0)}:1` : 'no oil' },
              { term: 'Site', value: site.name },
              { term: 'Elevation', value: formatQuantity(site.elevation_m, 0, 'm') },
              {
                term: 'Latitude',
                value: site.latitude_deg === undefined ? 'not given' : formatQuantity(site.latitude_deg, 2, '°'),
              },
            ]}
          />
        </Section>
        <Section title="Stand">
          {stand === null ? (
            <p className="muted">
              Not described yet. Its full loads and arm are needed for calibration: edit the sheet.
            </p>
          ) : (
            <Facts
              facts={[
                { term: 'Stand', value: stand.name },
                { term: 'Thrust, full load', value: formatQuantity(stand.thrustSpan_N, 0, 'N') },
                { term: 'Torque, full load', value: formatQuantity(stand.torqueSpan_Nm, 1, 'N·m') },
                { term: 'Arm of the weights', value: formatQuantity(stand.torqueArm_m, 3, 'm') },
              ]}
            />
          )}
        </Section>
        <Section title="Limits">
          <Facts facts={[{ term: 'Limits are from', value: rig.limitsFrom || 'nobody has said yet' }]} />
        </Section>
        <Section title="How a run is found">
          <Facts
            facts={[
              { term: 'Shaft at rest below', value: formatQuantity(runDetection.rest_rpm, 0, 'rpm') },
              {
                term: 'Runs by itself above',
                value: `${formatQuantity(runDetection.running_rpm, 0, 'rpm')} for ${formatQuantity(runDetection.runningHold_s, 0, 's')}`,
              },
              { term: 'Cooled when heads are below', value: formatQuantity(runDetection.cool_degC, 0, '°C') },
            ]}
          />
        </Section>
      </div>
      <SheetVersions />
      <SheetFiles sheet={rig} />
      <Section title="Cautions">
        <ul className="cautions" data-testid="cautions">
          {rig.cautions.map((caution) => (
            <li key={caution}>{caution}</li>
          ))}
        </ul>
        <p className="not-the-stop">
          Runstand is not the emergency stop. That is hard-wired on the stand, and works when all of this has failed.
        </p>
      </Section>
    </div>
  );
}

/** The name comes later, and with it nothing changes: an id only has to be its own. */
function newId(taken: string): string {
  return idFor(`rig-${new Date().toISOString().slice(0, 19)}`, [taken]);
}
