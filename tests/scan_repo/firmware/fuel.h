/* Fuel flow unit of an invented shop. */
#ifndef FUEL_H
#define FUEL_H
#define FUEL_H_VERSION 0x1A3785
#define GAL_TO_L 3.785411784
#define L_TO_GAL 0.264172f
#define IMP_GAL_TO_L 4.54609
#define LB_PER_KG (2.20462f)
#define KG_PER_LB 0.45359237
#define GALLON_TO_LITRE_X1000 3785
#define LTR_PER_USG 4.546      /* litres in a US gallon */
#define BARREL_TO_GAL 42.0
#define CUIN_PER_GAL 231
#define JET_A_LB_PER_GAL 6.7f
#define AVGAS_LB_PER_GAL 6.7f
#define K_FACTOR_LEFT 43'186u  /* pulse/gal */
#define K_FACTOR_RIGHT 11412   /* pulses per litre */
#define BAUD_RATE 115200
#define MAX_TANKS 4
#define TANK_CAPACITY_L 186.5
#define ABS_ZERO_F 459.67
#define CELSIUS_TO_KELVIN 273.15f
#define BUFFER_LITRES_NOT_A_NUMBER
static const float tbl[] = {1.5f, 2.75f, 3.125f};
#endif
