// A general-purpose sampling planner on the puzzles of benches/puzzles: OMPL's RRTConnect over FCL's meshes.
// Usage: peer FOLDER SECONDS SEED [SEED ...]; prints one line of JSON a seed. Built and run by ways.py.
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <iostream>
#include <memory>
#include <sstream>
#include <string>
#include <vector>

#include <fcl/geometry/bvh/BVH_model.h>
#include <fcl/narrowphase/collision.h>
#include <fcl/narrowphase/collision_object.h>
#include <ompl/base/MotionValidator.h>
#include <ompl/base/spaces/SE3StateSpace.h>
#include <ompl/geometric/SimpleSetup.h>
#include <ompl/geometric/planners/rrt/RRTConnect.h>
#include <ompl/util/RandomNumbers.h>

namespace ob = ompl::base;
namespace og = ompl::geometric;
using State = ob::SE3StateSpace::StateType;
using Model = fcl::BVHModel<fcl::OBBRSSd>;

static std::shared_ptr<Model> mesh(const std::string &path) {
    std::ifstream in(path);
    std::vector<fcl::Vector3d> points;
    std::vector<fcl::Triangle> faces;
    std::string line;
    while (std::getline(in, line)) {
        std::istringstream words(line);
        std::string kind;
        words >> kind;
        if (kind == "v") {
            double x, y, z;
            words >> x >> y >> z;
            points.emplace_back(x, y, z);
        } else if (kind == "f") {
            size_t a, b, c;
            words >> a >> b >> c;
            faces.emplace_back(a - 1, b - 1, c - 1);
        }
    }
    auto model = std::make_shared<Model>();
    model->beginModel(faces.size(), points.size());
    model->addSubModel(points, faces);
    model->endModel();
    return model;
}

// The numbers after a key of a flat JSON document.
static std::vector<double> numbers(const std::string &text, const std::string &key) {
    std::vector<double> out;
    size_t at = text.find("\"" + key + "\"");
    if (at == std::string::npos) { std::cerr << "no " << key << "\n"; std::exit(2); }
    at = text.find(':', at) + 1;
    while (at < text.size() && (text[at] == ' ' || text[at] == '[')) ++at;
    while (at < text.size()) {
        char *end = nullptr;
        out.push_back(std::strtod(text.c_str() + at, &end));
        at = end - text.c_str();
        while (at < text.size() && text[at] == ' ') ++at;
        if (text[at] != ',') break;
        ++at;
        while (at < text.size() && text[at] == ' ') ++at;
        if (text[at] == '"') break;
    }
    return out;
}

static double travel(const State *a, const State *b, double reach) {
    double dx = a->getX() - b->getX(), dy = a->getY() - b->getY(), dz = a->getZ() - b->getZ();
    auto &p = a->rotation(), &q = b->rotation();
    double dot = std::fabs(p.x * q.x + p.y * q.y + p.z * q.z + p.w * q.w);
    return std::sqrt(dx * dx + dy * dy + dz * dz) + reach * 2.0 * std::acos(std::min(1.0, dot));
}

// Looks at poses no farther apart than the step, in the order of ever finer halvings.
class Stepwise : public ob::MotionValidator {
public:
    Stepwise(const ob::SpaceInformationPtr &si, double step, double reach) : ob::MotionValidator(si), step_(step), reach_(reach) {}
    bool checkMotion(const ob::State *a, const ob::State *b) const override {
        if (!si_->isValid(b)) return false;
        int count = std::ceil(travel(a->as<State>(), b->as<State>(), reach_) / step_);
        ob::State *middle = si_->allocState();
        bool free = true;
        std::vector<std::pair<int, int>> open{{1, count - 1}};
        for (size_t i = 0; i < open.size() && free; ++i) {
            auto [low, high] = open[i];
            if (low > high) continue;
            int at = (low + high) / 2;
            si_->getStateSpace()->interpolate(a, b, double(at) / count, middle);
            free = si_->isValid(middle);
            open.emplace_back(low, at - 1);
            open.emplace_back(at + 1, high);
        }
        si_->freeState(middle);
        return free;
    }
    bool checkMotion(const ob::State *a, const ob::State *b, std::pair<ob::State *, double> &last) const override {
        int count = std::max(1, int(std::ceil(travel(a->as<State>(), b->as<State>(), reach_) / step_)));
        ob::State *middle = si_->allocState();
        for (int i = 1; i <= count; ++i) {
            si_->getStateSpace()->interpolate(a, b, double(i) / count, middle);
            if (!si_->isValid(middle)) {
                last.second = double(i - 1) / count;
                if (last.first) si_->getStateSpace()->interpolate(a, b, last.second, last.first);
                si_->freeState(middle);
                return false;
            }
        }
        si_->freeState(middle);
        return true;
    }

private:
    double step_, reach_;
};

int main(int argc, char **argv) {
    ompl::msg::setLogLevel(ompl::msg::LOG_ERROR);
    const std::string folder = argv[1];
    const double seconds = std::atof(argv[2]);
    std::ifstream file(folder + "/puzzle.json");
    std::stringstream all;
    all << file.rdbuf();
    const std::string text = all.str();
    auto fixed = mesh(folder + "/fixed.obj"), moving = mesh(folder + "/moving.obj");
    const double step = numbers(text, "step_mm")[0], reach = numbers(text, "reach_mm")[0];
    const double spread = numbers(text, "spread_mm")[0];
    auto low = numbers(text, "low"), high = numbers(text, "high");
    auto start = numbers(text, "start"), goal = numbers(text, "goal");
    const fcl::Transform3d rest = fcl::Transform3d::Identity();
    for (int i = 3; i < argc; ++i) {
        ompl::RNG::setSeed(std::atoi(argv[i]) + 1);
        auto space = std::make_shared<ob::SE3StateSpace>();
        ob::RealVectorBounds bounds(3);
        for (int k = 0; k < 3; ++k) { bounds.setLow(k, low[k]); bounds.setHigh(k, high[k]); }
        space->setBounds(bounds);
        // A turn is worth what it moves the surface by on the whole; the planner's own weight would be 1 mm a radian.
        space->setSubspaceWeight(1, 2.0 * spread);
        og::SimpleSetup setup(space);
        unsigned long checks = 0;
        setup.setStateValidityChecker([&](const ob::State *state) {
            ++checks;
            auto *s = state->as<State>();
            auto &q = s->rotation();
            fcl::Transform3d at = fcl::Transform3d::Identity();
            at.linear() = fcl::Quaterniond(q.w, q.x, q.y, q.z).toRotationMatrix();
            at.translation() = fcl::Vector3d(s->getX(), s->getY(), s->getZ());
            fcl::CollisionRequestd request;
            fcl::CollisionResultd result;
            return fcl::collide(fixed.get(), rest, moving.get(), at, request, result) == 0;
        });
        auto si = setup.getSpaceInformation();
        si->setMotionValidator(std::make_shared<Stepwise>(si, step, reach));
        auto state = [&](const std::vector<double> &v) {
            ob::ScopedState<ob::SE3StateSpace> s(space);
            s->setXYZ(v[0], v[1], v[2]);
            s->rotation().x = v[3]; s->rotation().y = v[4]; s->rotation().z = v[5]; s->rotation().w = v[6];
            return s;
        };
        setup.setStartAndGoalStates(state(start), state(goal));
        setup.setPlanner(std::make_shared<og::RRTConnect>(si));
        auto begin = std::chrono::steady_clock::now();
        clock_t cpu = clock();
        // By processor time: what else the machine does takes nothing from the peer's budget.
        ob::PlannerTerminationCondition spent([&] { return double(clock() - cpu) / CLOCKS_PER_SEC > seconds; });
        bool solved = setup.solve(spent) == ob::PlannerStatus::EXACT_SOLUTION;
        double took = std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
        double worked = double(clock() - cpu) / CLOCKS_PER_SEC;
        std::printf("{\"seed\": %s, \"solved\": %s, \"seconds\": %.4f, \"cpu_seconds\": %.4f, \"checks\": %lu}\n", argv[i],
                    solved ? "true" : "false", took, worked, checks);
        std::fflush(stdout);
    }
}
