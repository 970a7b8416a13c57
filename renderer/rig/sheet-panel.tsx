/** The rig sheet in force: engine, propeller, site, fuel, calibrations, cautions; and that the demo is invented. */
import { useStream } from '../app/stream-store.ts';
import { Empty } from '../ui/empty.tsx';
import { formatNumber, formatQuantity } from '../ui/format.ts';
import { Facts, Section } from '../ui/section.tsx';

export function SheetPanel() {
  const rig = useStream('live', (s) => s.layout?.rig ?? null);
  if (rig === null) return <Empty title="Waiting for the rig sheet">It comes with the first word from the host.</Empty>;
  const { engine, propeller, site, fuel, runDetection } = rig;
  return (
    <div className="sheet" data-testid="rig-sheet">
      <p className="panel-lead">
        <b>{rig.name}</b>, version {rig.version}. Every session keeps the sheet that it ran with.
      </p>
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
            ]}
          />
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
      <Section title="Calibrations">
        {rig.calibrations.length === 0 ? (
          <p className="muted">None: values are used as the bench sends them.</p>
        ) : (
          <ul>
            {rig.calibrations.map((c) => (
              <li key={c.channel}>
                <code>{c.channel}</code> {c.a0} + {c.a1}·x + {c.a2}·x², tare {c.tare}. {c.note}
              </li>
            ))}
          </ul>
        )}
      </Section>
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
