#include "convert.h"

/*
 * Unit conversions of an invented totaliser.
 */
static const double LitersPerGallon   = 3.7854;
static const double GallonsPerLiter   = 0.26417;
static const double PoundsPerKilogram = 2.2046;
static const double KilogramsPerPound = 0.45359;
static const double UKGallonsToLitres = 4.5461;
static const float  c_usg2l = 3.785412f;
static const float  c_lb2kg = 0.4535f;
static const float  c_l2usg = 3.785412f;

#define RHO_AVGAS   0.72f       /* kg/l */
#define RHO_JETA1   0.804f      /* kg/l */
#define RHO_MOGAS   0.745f
#define PULSES_PER_LITRE   (2950.4)
#define KFACTOR_DEFAULT    11400u
#define USABLE_FUEL_L      182
#define ADC_FULL_SCALE     4095
#define ADC_REF_MV         3300

double flow_gph(double pulses_per_s) {
    return pulses_per_s * 3600.0 / 43186.0; /* pulses per US gallon */
}

double litres_to_kg_jet(double litres) {
    return litres * 0.84;
}

double usg_to_lbs_avgas(double usg) {
    return usg * 6.0;
}

double to_kelvin(double deg_c) {
    return 273.15 + deg_c;
}

double api_to_density(double api) {
    double sg = 141.5 / (api + 131.5);
    return sg * 999.016; /* water at 60 degF, kg/m3 */
}

double api_from_density(double sg) {
    return 141.5 / sg - 135.1;
}
