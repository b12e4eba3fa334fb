// Any bytes as the file of a training, held in memory: refused in one line, or taken up again, with all its records.
#include "tests/fuzz/few_drills.hpp"
#include "tests/fuzz/fuzz.hpp"
#include "tools/text/json.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    fuzz::may_refuse();
    tools::TrainingStore store("any.sqlite", tools::Database(std::span(data, size)));
    if (store.failure()) {
        fuzz::expect_one_line(store.failure()->one_line());
        return 0;
    }
    fuzz::took();
    proto::Instant now{};
    tools::Trainer trainer(fuzz::few_drills(), {.secret = "secret", .code = {}}, store, fuzz::surroundings(now));
    now = now + proto::milliseconds(100);
    trainer.run_on();
    for (const char* path : {"room", "results.json", "results.csv"}) {
        const tools::WebRequest request{.method = "GET",
                                        .path = std::string("/api/instructor/") + path,
                                        .fields = {},
                                        .session = "",
                                        .token = "secret",
                                        .local = true};
        const tools::WebReply reply = trainer.answer(request);
        if (reply.status != 200) fuzz::broken("the instructor is told nothing");
        if (reply.type == "application/json" && !tools::from_json(reply.body)) fuzz::broken("a reply that is no JSON");
    }
    return 0;
}
