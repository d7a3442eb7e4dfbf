package shop.invented

object Conversions {
    const val LITRES_IN_US_GALLON = 3.785411784
    const val US_GALLONS_IN_LITRE = 0.2641720524
    const val LITRES_IN_IMPERIAL_GALLON = 4.54609
    const val KG_IN_LB = 0.45359237
    const val LB_IN_KG = 2.20462
    const val IN_HG_TO_HPA = 33.8639
    const val PSI_TO_BAR = 0.0689476
    const val MAX_ROWS = 4546

    fun gallonsToLitres(gallons: Double) = gallons * LITRES_IN_US_GALLON
    fun litresToPoundsJetA(litres: Double): Double = litres * 1.77 // lb per litre
    fun celsiusToKelvin(c: Double) = c + 273.15
    fun poundsPerHour(gph: Double) = gph * 6.7 // jet fuel, lb/gal
}
