/** Gauge of an invented cockpit display. */
export const LBS_PER_GALLON_100LL = 6.0;
export const LBS_PER_GALLON_JET_A = 6.8;
export const KG_PER_LITER_JET_A1 = 0.8;
export const CONVERSION = {
  gallonToLiter: 3.78541178,
  literToGallon: 0.264172,
  poundToKilogram: 0.4536,
  kilogramToPound: 2.205,
  imperialGallonToUsGallon: 1.2009,
};
export const GALLONS_TO_POUNDS_AVGAS = 7.2;
const animationMs = 264;
const width = 378.5;

export function volume(kg: number): number {
  return kg / 0.8; // litres of Jet A-1
}

// one US gallon is 231 cubic inches
export const CUBIC_INCHES = 231;
