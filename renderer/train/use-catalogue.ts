/** Scenarios and faults of the simulator, asked for once per connection. */
import { useEffect, useState } from 'react';
import type { FaultInfo, ScenarioInfo } from '../../shared-core/bridge/contract.ts';
import { ask, useConnection } from '../app/bridge-client.ts';

export interface Catalogue {
  readonly scenarios: readonly ScenarioInfo[];
  readonly faults: readonly FaultInfo[];
}

export function useCatalogue(): Catalogue | null {
  const isOpen = useConnection((c) => c.state === 'open');
  const [catalogue, setCatalogue] = useState<Catalogue | null>(null);
  useEffect(() => {
    if (!isOpen) return;
    let isCurrent = true;
    void ask('sim.catalogue', {}).then((found) => {
      if (isCurrent && found) setCatalogue(found);
    });
    return () => {
      isCurrent = false;
    };
  }, [isOpen]);
  return catalogue;
}
