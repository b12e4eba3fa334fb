#include "sim/integrity/weights.hpp"

#include <algorithm>
#include <mutex>
#include <new>
#include <numeric>
#include <utility>

#include "proto/contract.hpp"
#include "sim/integrity/gf2_polynomial.hpp"
#include "sim/integrity/low_weights.hpp"
#include "sim/integrity/macwilliams.hpp"
#include "sim/numeric/helping_threads.hpp"

namespace sim {
namespace {

using gf2::Polynomial;
using Histogram = std::vector<std::uint64_t>;

/// Memory that vectors can be loaded from.
class Aligned {
  public:
    explicit Aligned(std::size_t words)
        : at_(static_cast<std::uint64_t*>(::operator new(words * sizeof(std::uint64_t), alignment))) {}
    ~Aligned() { ::operator delete(at_, alignment); }
    Aligned(const Aligned&) = delete;
    Aligned& operator=(const Aligned&) = delete;
    [[nodiscard]] std::uint64_t* get() const { return at_; }

  private:
    static constexpr std::align_val_t alignment{64};
    std::uint64_t* at_;
};

/// The register of a sequence: its next bit is the highest one.
struct Register {
    Polynomial generator;
    int degree;
    Polynomial state;

    bool step() {
        const bool out = (state >> (degree - 1) & 1) != 0;
        state = state << 1 ^ (out ? generator : 0);
        return out;
    }
};

/// `steps` windows of the sequence that begins at `start`, one by one.
void walk(Polynomial generator, unsigned window, Polynomial start, std::uint64_t steps, Histogram& histogram) {
    if (steps == 0) return;
    Register ahead{generator, gf2::degree(generator), start};
    Register behind = ahead;
    unsigned weight = 0;
    for (unsigned i = 0; i < window; ++i) weight += ahead.step() ? 1U : 0U;
    ++histogram[weight];
    for (std::uint64_t t = 1; t < steps; ++t) {
        weight += ahead.step() ? 1U : 0U;
        weight -= behind.step() ? 1U : 0U;
        ++histogram[weight];
    }
}

/// How the sequences whose start is no multiple of one irreducible factor f of the generator g are listed, each once.
///
/// Starts are the polynomials below g; the next window's is x times this one's, modulo g. Let x have the order e modulo
/// f, and let h_1 .. h_I stand for the classes that x leaves apart there: I = (2^deg f - 1) / e. Every start c that f
/// does not divide is then x^t * (h_i + f * u) for exactly one i, one t below e and one u below g / f: t and i follow
/// from c modulo f, u from what x^-t * c is. So these are I * 2^(deg g - deg f) paths of e windows each.
///
/// Where x + 1 divides g / f the all-one sequence is among the sequences: adding it turns a window of weight w into one
/// of n - w and leads from path to path, and so half of the paths will do.
struct Paths {
    Polynomial generator = 0;
    Polynomial factor = 0;
    std::uint64_t length = 0;   ///< e
    std::uint64_t classes = 0;  ///< I
    unsigned free_bits = 0;     ///< of u
    bool mirrored = false;

    [[nodiscard]] std::uint64_t count() const { return classes << free_bits; }
    [[nodiscard]] std::uint64_t windows() const { return count() * length; }
};

/// Those of the factor with the longest paths.
Paths longest_paths(Polynomial generator) {
    Paths best;
    for (const gf2::Factor& factor : gf2::factors_of(generator)) {
        const std::uint64_t order = gf2::order_of(gf2::remainder(2, factor.polynomial), factor.polynomial);
        if (order <= best.length) continue;
        best.generator = generator;
        best.factor = factor.polynomial;
        best.length = order;
        best.classes = gf2::group_size(factor.polynomial) / order;
        best.free_bits = static_cast<unsigned>(gf2::degree(generator) - gf2::degree(factor.polynomial));
    }
    const Polynomial rest = gf2::quotient(generator, best.factor);
    best.mirrored = best.free_bits > 0 && gf2::remainder(rest, 3) == 0;
    if (best.mirrored) --best.free_bits;
    return best;
}

/// Paths cut into pieces of equal length, for many registers to run side by side.
class Pieces {
  public:
    Pieces(const Paths& paths, std::uint64_t wanted) : paths_(paths) {
        const std::uint64_t count = std::max(paths.count(), std::uint64_t{1});
        each_ = std::max(std::min((wanted + count - 1) / count, paths.length), std::uint64_t{1});
        steps_ = paths.length / each_;
        const Polynomial jump = gf2::power_modulo(2, steps_, paths.generator);
        jumps_.push_back(gf2::remainder(1, paths.generator));
        while (jumps_.size() <= each_) jumps_.push_back(gf2::product_modulo(jumps_.back(), jump, paths.generator));
        classes_.push_back(gf2::remainder(1, paths.factor));
        if (paths.classes > 1) {
            const Polynomial g = gf2::generator_modulo(paths.factor);
            while (classes_.size() < paths.classes)
                classes_.push_back(gf2::product_modulo(classes_.back(), g, paths.factor));
        }
    }

    [[nodiscard]] std::uint64_t count() const { return paths_.count() * each_; }
    [[nodiscard]] std::uint64_t steps() const { return steps_; }
    [[nodiscard]] Polynomial start(std::uint64_t number) const { return start_of(number / each_, number % each_); }

    /// The windows at the ends of the paths that belong to no piece.
    void finish(unsigned window, Histogram& histogram) const {
        const std::uint64_t left = paths_.length - steps_ * each_;
        for (std::uint64_t path = 0; left != 0 && path < paths_.count(); ++path)
            walk(paths_.generator, window, start_of(path, each_), left, histogram);
    }

  private:
    [[nodiscard]] Polynomial start_of(std::uint64_t path, std::uint64_t piece) const {
        const Polynomial u = path & ((std::uint64_t{1} << paths_.free_bits) - 1);
        const Polynomial first = classes_[path >> paths_.free_bits] ^ gf2::product(paths_.factor, u);
        return piece == 0 ? first : gf2::product_modulo(first, jumps_[piece], paths_.generator);
    }

    Paths paths_;
    std::uint64_t each_ = 1, steps_ = 0;
    std::vector<Polynomial> jumps_, classes_;
};

/// The shortest rule that the sequences obey: any multiple of the generator is one, and fewer taps are less work.
std::vector<unsigned> taps_of_rule(Polynomial generator) {
    std::vector<unsigned> places;
    for (unsigned i = 0; i < 64; ++i)
        if ((generator >> i & 1) != 0) places.push_back(i);
    const auto width = static_cast<unsigned>(gf2::degree(generator));
    if (width < 2 || places.size() <= 5) return places;
    constexpr unsigned longest_rule = 192;
    const Generator plain{width, generator ^ Polynomial{1} << width};
    const LowWeights found = low_weights(plain, longest_rule - width, {.weight_max = 5, .sums_max = 40'000});
    return !found.example.empty() && found.example.size() < places.size() ? found.example : places;
}

/// Calls part(number, histogram) for numbers 0..parts-1 in so many threads, each with a histogram of its own, and adds
/// those up.
template <class Part>
void in_threads(unsigned threads, std::uint64_t parts, const Effort& effort, Histogram& histogram, Part part) {
    std::atomic<std::uint64_t> next = 0;
    std::mutex adding;
    const auto work = [&](bool tells) {
        Histogram mine(histogram.size());
        for (std::uint64_t number = next++; number < parts; number = next++) {
            part(number, mine);
            if (tells && effort.progress) effort.progress(static_cast<double>(number) / static_cast<double>(parts));
        }
        const std::lock_guard lock(adding);
        for (std::size_t w = 0; w < mine.size(); ++w) histogram[w] += mine[w];
    };
    const HelpingThreads others(std::max(threads, 1U) - 1, work, false);
    work(true);
}

/// Adds up the windows of all paths.
void run_paths(const Paths& paths, unsigned window, const Effort& effort, Histogram& histogram) {
    constexpr std::uint64_t worth_it = 1U << 18;
    const dual::Kernel& kernel = effort.kernel;
    const unsigned threads = paths.windows() < 16 * worth_it ? 1 : std::max(effort.threads, 1U);
    if (paths.windows() < worth_it) {
        const Pieces pieces(paths, 1);
        for (std::uint64_t i = 0; i < pieces.count(); ++i)
            walk(paths.generator, window, pieces.start(i), pieces.steps(), histogram);
        return;
    }
    // enough batches for the threads to end together
    constexpr std::uint64_t batches_each = 8;
    const Pieces pieces(paths, std::uint64_t{kernel.lanes} * (threads == 1 ? 2 : threads * batches_each));
    pieces.finish(window, histogram);
    const std::vector<unsigned> places = taps_of_rule(paths.generator);
    const dual::Recurrence rule{places.data(), static_cast<unsigned>(places.size() - 1), places.back()};
    const std::uint64_t batches = (pieces.count() + kernel.lanes - 1) / kernel.lanes;

    in_threads(threads, batches, effort, histogram, [&](std::uint64_t batch, Histogram& mine) {
        const Aligned memory(kernel.memory_words(window, rule.degree));
        std::vector<std::uint64_t> starts(kernel.lanes);
        const std::uint64_t first = batch * kernel.lanes;
        const auto used = static_cast<unsigned>(std::min<std::uint64_t>(kernel.lanes, pieces.count() - first));
        for (unsigned lane = 0; lane < used; ++lane) starts[lane] = pieces.start(first + lane);
        kernel.run({.generator = paths.generator,
                    .window = window,
                    .recurrence = rule,
                    .starts = starts.data(),
                    .used = used,
                    .steps = pieces.steps(),
                    .histogram = mine.data(),
                    .memory = memory.get()});
    });
}

Polynomial with_leading_term(const Generator& generator) {
    return generator.polynomial | Polynomial{1} << generator.width;
}

}  // namespace

std::vector<std::uint64_t> dual_weights(const Generator& generator, unsigned data_bits, const Effort& effort) {
    proto::require(generator.width >= 1 && generator.width <= exact_width_max, "dual_weights: width out of range");
    proto::require((generator.polynomial & 1) != 0 && generator.polynomial >> generator.width == 0,
                   "dual_weights: no generator");
    const unsigned bits = data_bits + generator.width;
    proto::require(data_bits >= 1 && bits <= code_bits_max, "dual_weights: length out of range");

    Histogram histogram(bits + 1);
    Polynomial rest = with_leading_term(generator);
    // each round lists the sequences that belong to no smaller generator, then goes on to that one
    while (gf2::degree(rest) > 0) {
        const Paths paths = longest_paths(rest);
        constexpr std::uint64_t long_enough = 48;
        constexpr int soon_done = 20;
        if (paths.length < long_enough && gf2::degree(rest) > soon_done) {
            const auto width = static_cast<unsigned>(gf2::degree(rest));
            const Histogram all =
                dual_weights_by_gray_code({width, rest ^ Polynomial{1} << width}, bits - width, effort);
            for (std::size_t w = 0; w < all.size(); ++w) histogram[w] += all[w];
            return histogram;
        }
        Histogram found(bits + 1);
        run_paths(paths, bits, effort, found);
        for (unsigned w = 0; w <= bits; ++w) histogram[w] += found[w] + (paths.mirrored ? found[bits - w] : 0);
        rest = gf2::quotient(rest, paths.factor);
    }
    ++histogram[0];
    return histogram;
}

// Counting ones is one instruction where the processor has it; the compiler makes one copy for each kind.
#if defined(__x86_64__) && !defined(__SANITIZE_THREAD__) && !defined(__SANITIZE_ADDRESS__)
[[gnu::target_clones("popcnt", "default")]]
#endif
static void
gray_walk(const std::vector<std::uint64_t>& rows, std::size_t words, std::uint64_t first, std::uint64_t count,
          Histogram& histogram) {
    std::vector<std::uint64_t> word(words);
    for (std::uint64_t code = first ^ first >> 1; code != 0; code &= code - 1)
        for (std::size_t j = 0; j < words; ++j)
            word[j] ^= rows[static_cast<std::size_t>(__builtin_ctzll(code)) * words + j];
    for (std::uint64_t i = first;;) {
        unsigned weight = 0;
        for (std::size_t j = 0; j < words; ++j) weight += static_cast<unsigned>(__builtin_popcountll(word[j]));
        ++histogram[weight];
        if (++i == first + count) return;
        const std::uint64_t* const row = rows.data() + static_cast<std::size_t>(__builtin_ctzll(i)) * words;
        for (std::size_t j = 0; j < words; ++j) word[j] ^= row[j];
    }
}

std::vector<std::uint64_t> dual_weights_by_gray_code(const Generator& generator, unsigned data_bits,
                                                     const Effort& effort) {
    const unsigned bits = data_bits + generator.width;
    const std::size_t words = (bits + 63) / 64;
    std::vector<std::uint64_t> rows(words * generator.width);
    for (unsigned row = 0; row < generator.width; ++row) {
        Register sequence{with_leading_term(generator), static_cast<int>(generator.width), Polynomial{1} << row};
        for (unsigned t = 0; t < bits; ++t)
            if (sequence.step()) rows[row * words + t / 64] |= std::uint64_t{1} << (t % 64);
    }
    Histogram histogram(bits + 1);
    const unsigned piece_bits = generator.width > 20 ? 8 : 0;
    const std::uint64_t pieces = std::uint64_t{1} << piece_bits;
    const std::uint64_t each = std::uint64_t{1} << (generator.width - piece_bits);
    in_threads(piece_bits == 0 ? 1 : effort.threads, pieces, effort, histogram,
               [&](std::uint64_t piece, Histogram& mine) { gray_walk(rows, words, piece * each, each, mine); });
    return histogram;
}

unsigned WeightDistribution::hamming_distance() const {
    for (unsigned k = 1; k < code.size(); ++k)
        if (!code[k].is_zero()) return k;
    return bits() + 1;
}

std::optional<WeightDistribution> distribution_from(const Generator& generator, unsigned data_bits,
                                                    std::vector<std::uint64_t> dual) {
    WeightDistribution out;
    out.generator = generator;
    out.data_bits = data_bits;
    if (dual.size() != out.bits() + 1) return std::nullopt;
    std::optional<std::vector<WideNumber>> code = transformed(dual, generator.width);
    if (!code) return std::nullopt;
    WideNumber all;
    for (const WideNumber& each : *code) all += each;
    if (all != power_of_two(data_bits) || (*code)[0] != WideNumber(1)) return std::nullopt;
    const LowWeights low = low_weights(generator, data_bits, {.weight_max = 4, .sums_max = 4'000'000});
    for (unsigned k = 0; k <= low.searched() && k < code->size(); ++k)
        if ((*code)[k] != low.counts[k]) return std::nullopt;
    out.dual = std::move(dual);
    out.code = std::move(*code);
    return out;
}

WeightDistribution weight_distribution(const Generator& generator, unsigned data_bits, const Effort& effort) {
    std::optional<WeightDistribution> found =
        distribution_from(generator, data_bits, dual_weights(generator, data_bits, effort));
    proto::require(found.has_value(), "weight_distribution: two ways of counting disagree");
    return std::move(*found);
}

}  // namespace sim
