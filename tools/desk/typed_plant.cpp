#include "tools/desk/typed_plant.hpp"

#include <algorithm>
#include <utility>

#include "sim/reading/read_cell.hpp"
#include "sim/studies/cell_check.hpp"

namespace tools {

bool is_unseen(const sim::Difference& difference) { return difference.seen_at_controller.starts_with("Running"); }

TypedPlant::TypedPlant(std::string text, std::string path) : text_(std::move(text)), path_(std::move(path)) {
    read();
    if (!broken_) gather();
}

void TypedPlant::read() {
    if (auto unfit = sim::unfit_text(text_, text_.size(), path_)) {
        broken_ = std::move(*unfit);
        return;
    }
    if (sim::has_several_links_in(text_, path_)) {
        auto cell = sim::cell_in(text_, path_);
        if (cell)
            cell_ = std::move(cell).value();
        else
            broken_ = cell.error();
        return;
    }
    auto scenario = sim::scenario_in(text_, path_);
    if (scenario)
        single_ = std::move(scenario).value();
    else
        broken_ = scenario.error();
}

void TypedPlant::gather() {
    const auto add = [](std::vector<std::string>& all, const std::vector<std::string>& more, const std::string& lead) {
        for (const std::string& one : more)
            if (std::find(all.begin(), all.end(), lead + one) == all.end()) all.push_back(lead + one);
    };
    if (cell_) {
        sim::CellCheck check = sim::check_cell(*cell_);
        checks_ = std::move(check.ends);
        functions_ = std::move(check.functions);
        for (std::size_t i = 0; i < checks_.size(); ++i) {
            add(problems_, checks_[i].problems, "link " + cell_->links[i].name + ": ");
            add(cautions_, checks_[i].cautions, "link " + cell_->links[i].name + ": ");
        }
        add(problems_, check.problems, "");
        add(cautions_, check.cautions, "");
    } else {
        checks_.push_back(sim::cross_check(*single_));
        functions_ = sim::check_functions(*single_);
        add(problems_, checks_.front().problems, "");
        add(cautions_, checks_.front().cautions, "");
    }
    add(problems_, functions_.problems, "");
    add(cautions_, functions_.cautions, "");
}

std::optional<std::size_t> TypedPlant::link_called(const std::string& name) const {
    for (std::size_t i = 0; i < links(); ++i)
        if (link_name(i) == name) return i;
    return std::nullopt;
}

std::size_t TypedPlant::differences() const {
    std::size_t count = 0;
    for (const sim::CrossCheck& one : checks_) count += one.differences.size();
    return count;
}

std::size_t TypedPlant::unseen_differences() const {
    std::size_t count = 0;
    for (const sim::CrossCheck& one : checks_)
        count += static_cast<std::size_t>(std::count_if(one.differences.begin(), one.differences.end(), is_unseen));
    return count;
}

bool TypedPlant::apart() const {
    return std::any_of(checks_.begin(), checks_.end(),
                       [](const sim::CrossCheck& one) { return one.apart.has_value(); });
}

bool TypedPlant::starts(std::size_t link) const {
    const sim::CrossCheck& one = checks_[link];
    return !one.apart && std::all_of(one.differences.begin(), one.differences.end(), is_unseen);
}

bool TypedPlant::starts() const { return !broken_ && !apart() && differences() == unseen_differences(); }

}  // namespace tools
