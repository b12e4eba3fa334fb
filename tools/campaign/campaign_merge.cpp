// Joining the stores of a campaign's parts, one open at a time.
#include <algorithm>

#include "tools/campaign/campaign_parts.hpp"
#include "tools/campaign/campaign_stores.hpp"
#include "tools/program/interrupt.hpp"
#include "tools/program/made_by.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

constexpr std::size_t unfinished_named = 20;

/// Everything that is in the way of joining them, at once; nothing if nothing is.
std::optional<Failure> all_there(const std::vector<PartStore>& parts) {
    const std::vector<std::uint64_t> missing = missing_parts(parts);
    std::string why;
    if (!missing.empty())
        why = (missing.size() == 1 ? "part " : "parts ") + ranges_of(missing) + " of " +
              std::to_string(parts.back().key.shards) + (missing.size() == 1 ? " is" : " are") +
              " missing: name all parts";
    std::string unfinished;
    std::size_t count = 0;
    for (const PartStore& part : parts) {
        if (part.complete() || ++count > unfinished_named) continue;
        unfinished += (unfinished.empty() ? "" : "; ") + part.path;
        if (part.log)
            unfinished += " is being written, or its process was killed (" + *part.log + " lies beside it)";
        else if (part.worked_on)
            unfinished += " is being written";
        else
            unfinished += " has " + std::to_string(part.kept) + " of its " + std::to_string(part.wanted()) + " trials";
    }
    if (count > unfinished_named) unfinished += "; and " + std::to_string(count - unfinished_named) + " more";
    if (!unfinished.empty())
        why += (why.empty() ? "" : "; ") + unfinished +
               ": let the command that writes each end, or give it once more with --resume, then join";
    if (why.empty()) return std::nullopt;
    return Failure{Status::bad_input, "", 0, "--merge", why};
}

/// What the joined store keeps: what all parts have, unless less was asked for.
proto::Result<Keep, Failure> kept_by_all(const CampaignRequest& wanted, const std::vector<PartStore>& parts) {
    const PartStore& least = *std::max_element(
        parts.begin(), parts.end(), [](const PartStore& a, const PartStore& b) { return a.key.keep < b.key.keep; });
    if (!wanted.keep) return least.key.keep;
    if (*wanted.keep < least.key.keep)
        return usage("--keep", least.path + " keeps " + std::string(name_of(least.key.keep)) + " only; write --keep " +
                                   std::string(name_of(least.key.keep)));
    return *wanted.keep;
}

std::optional<Failure> read_part(const CampaignRequest& wanted, const PartStore& part, sim::CampaignSummary& summary,
                                 const TrialStore::Reader& pieces) {
    auto store = TrialStore::open(part.path, wanted.key, TrialStore::Open::read);
    if (!store) return store.error();
    if (store.value().kept() != part.kept || store.value().key().shard != part.key.shard)
        return Failure{Status::bad_input, part.path, 0, {}, "was changed while parts were joined; join them once more"};
    return store.value().read(summary, pieces);
}

/// The parts' key as the whole's.
CampaignKey key_of_whole(const std::vector<PartStore>& parts, Keep keep) {
    CampaignKey whole = parts.front().key;
    whole.shard = whole.shards = 1;
    whole.keep = keep;
    for (const PartStore& part : parts) add_builds(whole.made_by, part.key.made_by);
    return whole;
}

std::optional<Failure> write_joined(const CampaignRequest& wanted, const std::vector<PartStore>& parts, Keep keep,
                                    sim::CampaignSummary& summary) {
    const NoteInterrupt interrupt;
    auto made = TrialStore::open(*wanted.store, key_of_whole(parts, keep), TrialStore::Open::anew);
    if (!made) return made.error();
    std::optional<TrialStore> joined(std::move(made).value());
    joined->write_of(summary);
    const TrialStore::Reader copy = [&](const TrialPiece& piece) -> std::optional<Failure> {
        if (interrupt.came())
            return Failure{Status::interrupted, *wanted.store, 0, {}, "joining was stopped; nothing is left of it"};
        return joined->add(piece);
    };
    std::optional<Failure> failed;
    for (auto part = parts.begin(); part != parts.end() && !failed; ++part) {
        failed = read_part(wanted, *part, summary, copy);
        if (!failed) failed = joined->commit();
    }
    if (!failed) {
        joined->finish();
        return std::nullopt;
    }
    joined.reset();
    TrialStore::remove(*wanted.store);
    return failed;
}

}  // namespace

proto::Result<std::uint64_t, Failure> merge_stores(const CampaignRequest& wanted, sim::CampaignSummary& summary) {
    const auto looked = look_at_stores(wanted.stores, wanted.key);
    if (!looked) return looked.error();
    const std::vector<PartStore>& parts = looked.value();
    if (auto failed = all_there(parts)) return *failed;
    const auto keep = kept_by_all(wanted, parts);
    if (!keep) return keep.error();

    if (wanted.store) {
        if (auto failed = write_joined(wanted, parts, keep.value(), summary)) return *failed;
    } else {
        const NoteInterrupt interrupt;
        const TrialStore::Reader nothing = [&](const TrialPiece&) -> std::optional<Failure> {
            if (interrupt.came()) return Failure{Status::interrupted, "", 0, "--merge", "joining was stopped"};
            return std::nullopt;
        };
        for (const PartStore& part : parts)
            if (auto failed = read_part(wanted, part, summary, nothing)) return *failed;
    }
    return parts.front().key.trials;
}

}  // namespace tools
