/** Events and rig sheets are kept as JSON that loses nothing (shared-core/base/exact-json.ts). */
export { decodeJson, encodeJson } from '../../../shared-core/base/exact-json.ts';
