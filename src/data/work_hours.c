#include "data/work_hours.h"

static const struct work_time TIMES[TASK_COUNT] = {
#define X(name, hours, per_m, says) [TASK_##name] = { (hours), (per_m), says },
    WORK_TASKS(X)
#undef X
};

const struct work_time *work_time(enum work_task task) { return &TIMES[task]; }
