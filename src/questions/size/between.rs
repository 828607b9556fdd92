//! Polynomials between nodes.

/// Chebyshev nodes of a range.
pub(super) fn chebyshev<const N: usize>([low, high]: [f64; 2]) -> [f64; N] {
    std::array::from_fn(|i| {
        let x = (std::f64::consts::PI * (i as f64 + 0.5) / N as f64).cos();
        0.5 * (low + high) - 0.5 * (high - low) * x
    })
}

/// Lagrange weights of the nodes at `x`; all weight on the first node if the nodes coincide.
pub(super) fn weights<const N: usize>(nodes: &[f64; N], x: f64) -> [f64; N] {
    if nodes[N - 1] - nodes[0] <= 1e-9 {
        return std::array::from_fn(|i| if i == 0 { 1.0 } else { 0.0 });
    }
    std::array::from_fn(|i| {
        (0..N).filter(|j| *j != i).map(|j| (x - nodes[j]) / (nodes[i] - nodes[j])).product()
    })
}
