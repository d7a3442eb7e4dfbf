/* Fuel flow unit of an invented shop. */
#define GAL_TO_L      3.785411784
#define IMP_GAL_TO_L  4.54609f
#define LB_TO_KG      0.45359237
#define K_LEFT        43186 /* pulse/gal */
#define K_RIGHT       42950 /* pulse/gal */
