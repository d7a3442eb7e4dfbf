package shop.invented;

/** One tank. */
public final class Tank {
    private static final double USABLE_FUEL_GAL = 50.0;
    private static final double LITRES_PER_GALLON = 3.785411784d;
    private static final double GALLONS_PER_BARREL = 42;
    private static final double LITRES_PER_BARREL = 158.987;
    private static final double CUBIC_FEET_TO_GALLONS = 7.4805;
    private static final double CUBIC_METRES_TO_GALLONS = 264.172;
    private static final double SPECIFIC_GRAVITY_TO_LB_PER_GAL = 8.3454;
    private static final double POUNDS_PER_GALLON_AVGAS = 60.1;
    private static final double KG_PER_POUND = 0.4545;
    private static final long serialVersionUID = 378541178400001L;
    private static final int RETRIES = 231;

    double pounds(double gallons) {
        return gallons * 6.01; // avgas
    }
}
