/** Speeds at which the simulator can be run from the page. */
export const simulatorSpeeds = [0.2, 1, 2, 5, 10].map((value) => ({ value, text: `${value}×` }));
