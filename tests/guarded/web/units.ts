// Units of an invented dashboard.
export const litersPerGallon = 3.785411784;
export const psiToKpa = 6.894757;
export const gphToLph = 3.785412;
export const kelvinOffset = 273.15;
export const gravity = (api: number): number => 141.5 / (api + 131.5);
