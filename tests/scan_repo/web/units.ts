// Units of an invented dashboard.
export const litresPerGallon = 3.785411784;
export const gallonsPerLitre = 0.264;
export const kgPerLb = 0.45359237;
export const lbPerKg = 2.2046226218;
export const galToL = (gal: number): number => gal * 3.78541;
export const lToImpGal = (l: number) => l * 0.219969;
export const lbsPerImpGal = 8.05; // jet fuel
const timeoutMs = 3785;
const colours = ["#378541", "#453592"];
export function fuelMassKg(litres: number): number {
  return litres * 0.8; // jet fuel, kg per litre
}
export function pulsesToLitres(pulses: number): number {
  const kFactor = 11.5e3; // pulses per litre
  return pulses / kFactor;
}
export const KELVIN_OFFSET = 273.16;
export const lbToTonnes = 0.000453592;
