#include "tools/campaign/campaign_stores.hpp"

#include <algorithm>
#include <set>

#include <fcntl.h>
#include <unistd.h>

#include "tools/text/text.hpp"

namespace tools {
namespace {

std::string part_of(const CampaignKey& key) { return std::to_string(key.shard) + "/" + std::to_string(key.shards); }

/// Whether a process of this computer writes to the file: SQLite locks a few bytes of it, as POSIX has it.
bool is_locked(const std::string& path) {
    const int file = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
    if (file < 0) return false;
    struct flock asked {};
    asked.l_type = F_RDLCK;
    asked.l_whence = SEEK_SET;
    const bool told = ::fcntl(file, F_GETLK, &asked) == 0;
    ::close(file);
    return told && asked.l_type == F_WRLCK;
}

proto::Result<PartStore, Failure> look_at(const std::string& path) {
    const auto log = TrialStore::log_of(path);
    const bool worked_on = is_locked(path);
    auto seen = TrialStore::look(path);
    if (!seen && !log) return seen.error();
    if (!seen) return PartStore{path, {.shard = 0, .shards = 0}, 0, log, worked_on};
    return PartStore{path, std::move(seen.value().key), seen.value().kept, log, worked_on};
}

Failure unfit(const PartStore& part, const std::string& why) { return {Status::bad_input, part.path, 0, {}, why}; }

std::optional<Failure> of_one_campaign(const PartStore& first, const PartStore& part, const CampaignKey& wanted) {
    const CampaignKey &of = first.key, &key = part.key;
    if (auto failed = TrialStore::compare(part.path, key, wanted)) return failed;
    if (key.trials != of.trials || key.shards != of.shards)
        return unfit(part, "is part " + part_of(key) + " of " + std::to_string(key.trials) + " trials, " + first.path +
                               " part " + part_of(of) + " of " + std::to_string(of.trials) +
                               "; name parts of one campaign");
    if (wanted.trials != 0 && wanted.trials != key.trials)
        return unfit(part, "is of a campaign of " + std::to_string(key.trials) + " trials, not " +
                               std::to_string(wanted.trials) + "; leave --trials away");
    return std::nullopt;
}

std::string ranges(const std::vector<std::uint64_t>& numbers, std::string_view between, std::string_view to) {
    std::string text;
    for (std::size_t i = 0; i < numbers.size();) {
        std::size_t last = i;
        while (last + 1 < numbers.size() && numbers[last + 1] == numbers[last] + 1) ++last;
        if (!text.empty()) text += between;
        text += std::to_string(numbers[i]);
        if (last > i) text += std::string(last == i + 1 ? between : to) + std::to_string(numbers[last]);
        i = last + 1;
    }
    return text;
}

}  // namespace

proto::Result<std::vector<PartStore>, Failure> look_at_stores(const std::vector<std::string>& paths,
                                                              const CampaignKey& wanted) {
    std::vector<PartStore> parts;
    std::set<std::string> named;
    std::optional<std::size_t> first;  // that told its part
    for (const std::string& path : paths) {
        if (!named.insert(path).second)
            return Failure{Status::bad_input, path, 0, {}, "is named twice; name each part once"};
        auto part = look_at(path);
        if (!part) return part.error();
        parts.push_back(std::move(part).value());
        if (parts.back().key.shard == 0) continue;
        if (!first) first = parts.size() - 1;
        if (auto failed = of_one_campaign(parts[*first], parts.back(), wanted)) return *failed;
    }
    if (!first)
        return unfit(parts.front(), "is just being made, or its process was killed then (" + *parts.front().log +
                                        " lies beside it); wait, or give its command once more with --resume");
    std::stable_sort(parts.begin(), parts.end(),
                     [](const PartStore& a, const PartStore& b) { return a.key.shard < b.key.shard; });
    for (std::size_t i = 1; i < parts.size(); ++i)
        if (parts[i].key.shard != 0 && parts[i].key.shard == parts[i - 1].key.shard)
            return unfit(parts[i], "is part " + part_of(parts[i].key) + " once more; name each part once");
    return parts;
}

std::vector<std::uint64_t> missing_parts(const std::vector<PartStore>& parts) {
    std::vector<std::uint64_t> missing;
    auto part = parts.begin();
    while (part != parts.end() && part->key.shard == 0) ++part;
    if (part == parts.end()) return missing;
    for (std::uint64_t number = 1, of = part->key.shards; number <= of; ++number) {
        if (part != parts.end() && part->key.shard == number)
            ++part;
        else
            missing.push_back(number);
    }
    return missing;
}

std::string ranges_of(const std::vector<std::uint64_t>& numbers) { return ranges(numbers, ", ", " to "); }

std::string list_of(const std::vector<std::uint64_t>& numbers) { return ranges(numbers, ",", "-"); }

}  // namespace tools
