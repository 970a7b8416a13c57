/** Names of the two messages between main process and preload. The page never sees them. */
export const PORT_REQUEST = 'runstand:port-request';
export const PORT_OFFER = 'runstand:port-offer';
