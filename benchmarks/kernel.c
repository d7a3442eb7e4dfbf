/* The volume correction of 2004 for refined products in one pass over plain arrays: what a compiler makes of it. */
#include <math.h>

#define SHIFT 0.01374979547

static inline double degrees(double celsius)
{
    double tau = celsius / 630.0;
    double difference = -3.536296;
    difference = difference * tau + 7.438081;
    difference = difference * tau - 1.871251;
    difference = difference * tau - 4.089591;
    difference = difference * tau + 1.269056;
    difference = difference * tau + 1.080760;
    difference = difference * tau - 0.267408;
    difference = difference * tau - 0.148759;
    return 1.8 * (celsius - difference * tau) + 32.0 - 60.0068749;
}

/* alpha at 60 degF; *fall is -d ln(alpha) / d ln(rho), times alpha */
static inline double alpha_60(double rho, double *fall)
{
    double k0 = rho < 838.3127 ? 330.301 : 103.872;
    double k1 = rho < 838.3127 ? 0.0 : 0.2701;
    double k2 = rho < 787.5195 ? -0.0018684 : 0.0;
    k0 = rho < 787.5195 ? 1489.067 : k0;
    k0 = rho < 770.352 ? 192.4571 : k0;
    k1 = rho < 770.352 ? 0.2438 : k1;
    k2 = rho < 770.352 ? 0.0 : k2;
    double inverse = 1.0 / rho;
    double a = 0.5 * SHIFT * ((k0 * inverse + k1) * inverse + k2);
    double b = 0.5 * SHIFT * (2.0 * k0 * inverse + k1) * inverse;
    double x = a * (1.0 + 0.8 * a);
    inverse /= 1.0 + x * (1.0 + 0.5 * x) / (1.0 + (1.0 + 1.6 * a) * b);
    *fall = (2.0 * k0 * inverse + k1) * inverse;
    return (k0 * inverse + k1) * inverse + k2;
}

static inline double ctl_60(double alpha, double dt)
{
    return exp(-alpha * dt * (1.0 + 0.8 * alpha * (dt + SHIFT)));
}

static inline double step(double rho, double observed, double dt)
{
    double fall, alpha = alpha_60(rho, &fall);
    return rho + (observed / ctl_60(alpha, dt) - rho) / (1.0 + fall * dt * (1.0 + 1.6 * alpha * dt));
}

/* Four steps of Newton's method reach the last digits, but for the slivers between two groups. */
static inline double base_60(double observed, double dt)
{
    double rho = step(observed, observed, dt);
    return step(step(step(rho, observed, dt), observed, dt), observed, dt);
}

void density(long n, double rho_60, const double *restrict t, double *restrict out)
{
    double fall, alpha = alpha_60(rho_60, &fall);
    for (long i = 0; i < n; i++)
        out[i] = rho_60 * ctl_60(alpha, degrees(t[i]));
}

void ctl_from_60(long n, const double *restrict rho, const double *restrict t, double *restrict out)
{
    double fall;
    for (long i = 0; i < n; i++)
        out[i] = ctl_60(alpha_60(rho[i], &fall), degrees(t[i]));
}

void ctl_from_15(long n, const double *restrict rho, const double *restrict t, double *restrict out)
{
    double fall, dt_15 = degrees(15.0);
    for (long i = 0; i < n; i++) {
        double rho_60 = base_60(rho[i], dt_15);
        out[i] = rho_60 * ctl_60(alpha_60(rho_60, &fall), degrees(t[i])) / rho[i];
    }
}

void base_density(long n, const double *restrict observed, const double *restrict t, double *restrict out)
{
    for (long i = 0; i < n; i++)
        out[i] = base_60(observed[i], degrees(t[i]));
}
