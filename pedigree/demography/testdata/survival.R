# Writes survival-curves.csv and survival-medians.csv from survival-lives.csv
# with R's survival package. Run once, in this folder:
#
#   Rscript survival.R
#
# The tests of the package read the results and need no R. See README.md.
suppressMessages(library(survival))
lives <- read.csv("survival-lives.csv", comment.char = "#")
digits <- function(x) formatC(x, digits = 15, format = "g")
curves <- NULL
medians <- NULL
for (set in unique(lives$set)) {
  d <- lives[lives$set == set, ]
  # Surv(entry, exit, event) takes no life that ends where it begins; the sets
  # watched from hatch hold such lives, so they go in without entry.
  y <- if (all(d$entry == 0)) Surv(d$exit, d$died) else Surv(d$entry, d$exit, d$died)
  # robust = FALSE asks for Greenwood's variance where weights are not whole.
  fit <- survfit(y ~ 1, weights = d$weight, conf.type = "log-log", conf.int = 0.95, robust = FALSE)
  s <- summary(fit)
  curves <- rbind(curves, data.frame(set = set, age = digits(s$time), at_risk = digits(s$n.risk),
    deaths = digits(s$n.event), survival = digits(s$surv), se = digits(s$std.err),
    low = digits(s$lower), high = digits(s$upper)))
  q <- quantile(fit, 0.5)
  medians <- rbind(medians, data.frame(set = set, median = digits(q$quantile),
    low = digits(q$lower), high = digits(q$upper)))
}
trim <- function(d) as.data.frame(lapply(d, trimws))
write.csv(trim(curves), "survival-curves.csv", row.names = FALSE, quote = FALSE)
write.csv(trim(medians), "survival-medians.csv", row.names = FALSE, quote = FALSE)
cat(R.version.string, "survival", as.character(packageVersion("survival")), "\n")
