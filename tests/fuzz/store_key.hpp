#pragma once
// The campaign whose stores are in the corpus of campaign_store.
#include "tests/fuzz/fuzz.hpp"
#include "tools/campaign/trial_store.hpp"

namespace fuzz {

inline const tools::CampaignKey store_key{
    .model = 0, .made_by = "a fuzzer", .scenario = "Short lift", .contents = "any", .seed = 7, .trials = 40};

}  // namespace fuzz
